/** The few icons in use, each by its own file so that the build holds no others. */
export { default as ChevronDown } from '@lucide/svelte/icons/chevron-down';
export { default as ChevronFirst } from '@lucide/svelte/icons/chevron-first';
export { default as ChevronLast } from '@lucide/svelte/icons/chevron-last';
export { default as ChevronLeft } from '@lucide/svelte/icons/chevron-left';
export { default as ChevronRight } from '@lucide/svelte/icons/chevron-right';
export { default as ChevronUp } from '@lucide/svelte/icons/chevron-up';
export { default as Lock } from '@lucide/svelte/icons/lock';
export { default as LockOpen } from '@lucide/svelte/icons/lock-open';
export { default as Moon } from '@lucide/svelte/icons/moon';
export { default as Pause } from '@lucide/svelte/icons/pause';
export { default as Play } from '@lucide/svelte/icons/play';
export { default as Printer } from '@lucide/svelte/icons/printer';
export { default as Redo2 } from '@lucide/svelte/icons/redo-2';
export { default as Sun } from '@lucide/svelte/icons/sun';
export { default as Trash2 } from '@lucide/svelte/icons/trash-2';
export { default as Undo2 } from '@lucide/svelte/icons/undo-2';
