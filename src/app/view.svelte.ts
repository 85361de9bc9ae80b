import type { DetectedJoint, Joint } from '../base/joints.ts';
import type { ArcFrame } from '../timing/arc.ts';
import { applyTheme, storedTheme, type Theme } from './theme.ts';

/** What the animator is looking at. Neither saved nor undone. */
export class View {
  theme = $state<Theme>(storedTheme());
  /** The joint whose path and numbers are shown on the Tracks screen. */
  joint = $state<Joint>('rightWrist');
  /** Joints whose arcs are drawn, at most `mostArcs`. */
  arcJoints = $state.raw<readonly Joint[]>(['rightWrist']);
  arcRelativeTo = $state<ArcFrame>('picture');
  /** The dialog that films with this machine's camera. */
  recordIsOpen = $state(false);
  showsSkeleton = $state(true);
  showsOnions = $state(false);
  /** Hold each exposure as the audience would see it, or show every frame. */
  asExposed = $state(true);
  /** The joint being dragged on the picture, with where it is now in upright pixels. */
  dragged = $state.raw<{ joint: DetectedJoint; xPx: number; yPx: number } | null>(null);

  /** Light for the desk, dark beside the set. */
  turnTheme(): void {
    this.theme = this.theme === 'light' ? 'dark' : 'light';
    applyTheme(this.theme);
  }

  /** Shows the arc of a joint, or takes it away again. The oldest gives way when there are too many to tell apart. */
  toggleArc(joint: Joint): void {
    this.arcJoints = this.arcJoints.includes(joint)
      ? this.arcJoints.filter((j) => j !== joint)
      : [...this.arcJoints, joint].slice(-mostArcs);
  }
}

/** More arcs than this cannot be told apart on one picture, nor on grey paper. */
export const mostArcs = 4;
