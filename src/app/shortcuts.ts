/** What a key may ask for, wherever the focus is (except while typing). */
export type Command =
  | 'playPause'
  | 'frameBack'
  | 'frameOn'
  | 'tenBack'
  | 'tenOn'
  | 'firstFrame'
  | 'lastFrame'
  | 'keyBefore'
  | 'keyAfter'
  | 'pinKey'
  | 'removeKey'
  | 'keyEarlier'
  | 'keyLater'
  | 'poseEarlier'
  | 'poseLater'
  | 'ownTiming'
  | 'lockExposure'
  | 'undo'
  | 'redo'
  | 'screen1'
  | 'screen2'
  | 'screen3'
  | 'screen4'
  | 'screen5'
  | 'screen6'
  | 'screen7'
  | 'screen8'
  | 'save'
  | 'print'
  | 'jointAfter'
  | 'jointBefore'
  | 'doubtAfter'
  | 'doubtBefore'
  | 'holdJoint'
  | 'letGo'
  | 'confirmJoint'
  | 'removePlacement'
  | 'reachLess'
  | 'reachMore'
  | 'markHidden'
  | 'markSwapped'
  | 'markPoint'
  | 'nextQuestion'
  | 'frameOnHeld'
  | 'frameBackHeld'
  | 'tapBeat'
  | 'beatHere'
  | 'writeSaid'
  | 'findingAfter'
  | 'findingBefore'
  | 'leaveFinding'
  | 'markJoints'
  | 'jointNotSeen'
  | 'jointBack'
  | 'takeExposure'
  | 'exposureBack'
  | 'notShot'
  | 'jumpToExposure'
  | 'speakSteps'
  | 'rehearse'
  | 'takenList'
  | 'stepNotes'
  | 'pictureSteps'
  | 'fullScreen'
  | 'setDarker'
  | 'setBrighter'
  | 'leaveSet'
  | 'help';

/** One shortcut: the event's `key` (and modifiers), what it does, and how the help page says both. */
export interface Shortcut {
  readonly command: Command;
  /** `KeyboardEvent.key`, lower case for letters. */
  readonly key: string;
  readonly shift?: boolean;
  /** Control, or Command on a Mac. */
  readonly control?: boolean;
  readonly alt?: boolean;
  /** Means this on one screen only, where it comes before what the same key means elsewhere. */
  readonly screen?: 'tracks' | 'timing' | 'onSet' | 'check';
  /** How the help page writes the keys. */
  readonly shown: string;
  /** Empty where the key does the same as the one above it, which is shown for both. */
  readonly words: string;
}

/** Every shortcut there is: this table drives the keys and the help page alike. */
export const shortcuts: readonly Shortcut[] = [
  { command: 'playPause', key: ' ', shown: 'Space', words: 'Play or stop, at the shot’s speed' },
  { command: 'frameOn', key: 'ArrowRight', shown: '→', words: 'One frame on' },
  { command: 'frameBack', key: 'ArrowLeft', shown: '←', words: 'One frame back' },
  { command: 'tenOn', key: 'ArrowRight', shift: true, shown: 'Shift →', words: 'Ten frames on' },
  { command: 'tenBack', key: 'ArrowLeft', shift: true, shown: 'Shift ←', words: 'Ten frames back' },
  { command: 'firstFrame', key: 'Home', shown: 'Home', words: 'First frame' },
  { command: 'lastFrame', key: 'End', shown: 'End', words: 'Last frame' },
  { command: 'keyAfter', key: 'ArrowDown', shown: '↓', words: 'Next key pose' },
  { command: 'keyBefore', key: 'ArrowUp', shown: '↑', words: 'Key pose before' },
  { command: 'pinKey', key: 'k', shown: 'K', words: 'Make this frame a key, or lock the key that is here' },
  { command: 'removeKey', key: 'Delete', shown: 'Delete', words: 'Take the key at this frame away' },
  { command: 'keyEarlier', key: ',', shown: ',', words: 'The pose at this key falls one frame earlier' },
  { command: 'keyLater', key: '.', shown: '.', words: 'The pose at this key falls one frame later' },
  {
    command: 'poseEarlier',
    key: ',',
    alt: true,
    shown: 'Alt ,',
    words: 'Another pose for this key: the one a frame before',
  },
  { command: 'poseLater', key: '.', alt: true, shown: 'Alt .', words: 'Another pose for this key: the one a frame on' },
  { command: 'lockExposure', key: 'e', screen: 'timing', shown: 'E', words: 'This frame is always exposed' },
  { command: 'ownTiming', key: 'o', screen: 'timing', shown: 'O', words: 'The take as filmed, or the shot as retimed' },
  { command: 'undo', key: 'z', control: true, shown: 'Ctrl Z', words: 'Undo' },
  { command: 'redo', key: 'z', control: true, shift: true, shown: 'Ctrl Shift Z', words: 'Redo' },
  { command: 'screen1', key: '1', shown: '1', words: 'Take' },
  { command: 'screen2', key: '2', shown: '2', words: 'Tracks' },
  { command: 'screen3', key: '3', shown: '3', words: 'Timing' },
  { command: 'screen4', key: '4', shown: '4', words: 'Arcs' },
  { command: 'screen5', key: '5', shown: '5', words: 'Puppet' },
  { command: 'screen6', key: '6', shown: '6', words: 'Sheet' },
  { command: 'screen7', key: '7', shown: '7', words: 'On set' },
  { command: 'screen8', key: '8', shown: '8', words: 'Check' },
  { command: 'save', key: 's', control: true, shown: 'Ctrl S', words: 'Save the book to a file' },
  { command: 'print', key: 'p', control: true, shown: 'Ctrl P', words: 'Print the sheet' },
  { command: 'jointAfter', key: 'j', screen: 'tracks', shown: 'J', words: 'Next joint' },
  { command: 'jointBefore', key: 'j', shift: true, screen: 'tracks', shown: 'Shift J', words: 'Joint before' },
  { command: 'doubtAfter', key: 'd', screen: 'tracks', shown: 'D', words: 'Next doubt' },
  { command: 'doubtBefore', key: 'd', shift: true, screen: 'tracks', shown: 'Shift D', words: 'Doubt before' },
  {
    command: 'holdJoint',
    key: 'm',
    screen: 'tracks',
    shown: 'M',
    words: 'Take hold of the joint: arrows move it a pixel, with Shift five',
  },
  {
    command: 'letGo',
    key: 'Escape',
    screen: 'tracks',
    shown: 'Escape',
    words: 'Let go of it, or of a span half marked',
  },
  {
    command: 'frameOnHeld',
    key: 'PageDown',
    screen: 'tracks',
    shown: 'Page ↓',
    words: 'One frame on, still holding it',
  },
  {
    command: 'frameBackHeld',
    key: 'PageUp',
    screen: 'tracks',
    shown: 'Page ↑',
    words: 'One frame back, still holding it',
  },
  { command: 'confirmJoint', key: 'p', screen: 'tracks', shown: 'P', words: 'The joint is right where it is' },
  {
    command: 'removePlacement',
    key: 'Delete',
    screen: 'tracks',
    shown: 'Delete',
    words: 'Take the joint’s placement at this frame back',
  },
  {
    command: 'reachLess',
    key: '[',
    screen: 'tracks',
    shown: '[',
    words: 'The placement moves one frame less around it',
  },
  { command: 'reachMore', key: ']', screen: 'tracks', shown: ']', words: '… one frame more' },
  { command: 'markHidden', key: 'h', screen: 'tracks', shown: 'H', words: 'Joint hidden from here; again: to here' },
  { command: 'markSwapped', key: 'x', screen: 'tracks', shown: 'X', words: 'Sides swapped from here; again: to here' },
  { command: 'markPoint', key: 'a', screen: 'tracks', shown: 'A', words: 'Mark a point on a prop, a ball, a tail' },
  {
    command: 'nextQuestion',
    key: 'q',
    screen: 'tracks',
    shown: 'Q',
    words: 'Next place where a marked point was lost',
  },
  { command: 'tapBeat', key: 't', screen: 'timing', shown: 'T', words: 'Tap the beat, playing or stopped' },
  { command: 'beatHere', key: 'b', screen: 'timing', shown: 'B', words: 'The first beat falls on this frame' },
  { command: 'writeSaid', key: 'n', screen: 'timing', shown: 'N', words: 'Write what is said from this frame on' },
  {
    command: 'findingAfter',
    key: 'ArrowDown',
    screen: 'check',
    shown: '↓',
    words: 'Next of what differs from the plan',
  },
  { command: 'findingBefore', key: 'ArrowUp', screen: 'check', shown: '↑', words: '… the one before' },
  {
    command: 'leaveFinding',
    key: 'Escape',
    screen: 'check',
    shown: 'Escape',
    words: 'Let go of it, of a ruler half laid, of joints being marked, or of a point to be set',
  },
  {
    command: 'markJoints',
    key: 'm',
    screen: 'check',
    shown: 'M',
    words: 'Mark the puppet’s joints: each is named, and pressed in the shot’s picture',
  },
  { command: 'jointNotSeen', key: 'n', screen: 'check', shown: 'N', words: '… this one is not seen here' },
  { command: 'jointBack', key: 'Backspace', screen: 'check', shown: 'Backspace', words: '… back to the one before' },
  {
    command: 'frameOnHeld',
    key: 'PageDown',
    screen: 'check',
    shown: 'Page ↓',
    words: 'One frame on, also while arrow keys move the cross',
  },
  { command: 'frameBackHeld', key: 'PageUp', screen: 'check', shown: 'Page ↑', words: 'One frame back' },
  {
    command: 'takeExposure',
    key: ' ',
    screen: 'onSet',
    shown: 'Space, Enter, →, ↓, Page ↓',
    words: 'This exposure is shot: on to the next. Pedals and presenter remotes send one of these',
  },
  { command: 'takeExposure', key: 'Enter', screen: 'onSet', shown: '', words: '' },
  { command: 'takeExposure', key: 'ArrowRight', screen: 'onSet', shown: '', words: '' },
  { command: 'takeExposure', key: 'ArrowDown', screen: 'onSet', shown: '', words: '' },
  { command: 'takeExposure', key: 'PageDown', screen: 'onSet', shown: '', words: '' },
  {
    command: 'exposureBack',
    key: 'ArrowLeft',
    screen: 'onSet',
    shown: '←, ↑, Page ↑',
    words: 'Look at the exposure before; its mark stays',
  },
  { command: 'exposureBack', key: 'ArrowUp', screen: 'onSet', shown: '', words: '' },
  { command: 'exposureBack', key: 'PageUp', screen: 'onSet', shown: '', words: '' },
  {
    command: 'notShot',
    key: 'Backspace',
    screen: 'onSet',
    shown: 'Backspace',
    words: 'Take the last mark away, and go back there',
  },
  { command: 'jumpToExposure', key: 'j', screen: 'onSet', shown: 'J', words: 'Go to an exposure by its number' },
  { command: 'speakSteps', key: 's', screen: 'onSet', shown: 'S', words: 'Speak what to move next, or be silent' },
  {
    command: 'rehearse',
    key: 'r',
    screen: 'onSet',
    shown: 'R',
    words: 'Rehearse the pop-through at speed, with clicks; Space starts and stops it',
  },
  { command: 'takenList', key: 'l', screen: 'onSet', shown: 'L', words: 'What was shot when' },
  {
    command: 'stepNotes',
    key: 'n',
    screen: 'onSet',
    shown: 'N',
    words: 'Every note of this exposure in full, or its moves',
  },
  {
    command: 'pictureSteps',
    key: 'p',
    screen: 'onSet',
    shown: 'P',
    words: 'A picture that comes into the watched folder marks its exposure as shot, or only the key does',
  },
  { command: 'fullScreen', key: 'f', screen: 'onSet', shown: 'F', words: 'The whole screen, or the window' },
  { command: 'setDarker', key: '-', screen: 'onSet', shown: '−', words: 'The screen darker' },
  { command: 'setBrighter', key: '+', screen: 'onSet', shown: '+', words: 'The screen brighter again' },
  { command: 'setBrighter', key: '=', screen: 'onSet', shown: '', words: '' },
  { command: 'leaveSet', key: 'Escape', screen: 'onSet', shown: 'Escape', words: 'Leave the set; the place is kept' },
  { command: 'help', key: '?', shown: '?', words: 'This list' },
];

/** What keys do on every screen that they do at the set, too: a remote's other buttons must not change the plan unseen. */
const alsoOnSet: ReadonlySet<Command> = new Set([
  ...(['screen1', 'screen2', 'screen3', 'screen4', 'screen5', 'screen6', 'screen7', 'screen8'] as const),
  ...(['save', 'print', 'help'] as const),
]);

/** The command a key press asks for, or null. Keys typed into a field, and keys that a focused control needs itself, ask for nothing. */
export function commandFor(event: KeyboardEvent, screen: string): Command | null {
  const target = event.target instanceof HTMLElement ? event.target : null;
  const control = event.ctrlKey || event.metaKey;
  if (target && takesKeys(target, event.key) && !control) return null;
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  // A sign needs Shift on one keyboard and not on another; the sign itself is what was meant.
  const isSign = key.length === 1 && key.toLowerCase() === key.toUpperCase() && key !== ' ';
  const found = shortcuts.filter(
    (s) =>
      (s.screen === screen || (s.screen === undefined && (screen !== 'onSet' || alsoOnSet.has(s.command)))) &&
      s.key === key &&
      (isSign || (s.shift ?? false) === event.shiftKey) &&
      (s.control ?? false) === control &&
      (s.alt ?? false) === event.altKey,
  );
  return (found.find((s) => s.screen !== undefined) ?? found[0])?.command ?? null;
}

function takesKeys(target: HTMLElement, key: string): boolean {
  if (target.isContentEditable || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement)
    return true;
  if (target instanceof HTMLInputElement) {
    if (target.type === 'checkbox' || target.type === 'radio') return key === ' ' || key.startsWith('Arrow');
    return true;
  }
  // A focused button is pressed by the space bar and by Enter; one that handles arrow keys itself says so.
  if (target.closest('button, a[href], summary, [role=tab]') && (key === ' ' || key === 'Enter')) return true;
  return target.closest('[data-own-keys]') !== null && (key.startsWith('Arrow') || key === 'Delete' || key === ' ');
}
