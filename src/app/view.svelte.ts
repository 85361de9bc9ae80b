import type { Joint, Part, PropId } from '../base/joints.ts';
import type { PaperName } from '../base/paper.ts';
import type { Point } from '../base/twoBones.ts';
import type { DoubtSpan } from '../draw/doubtMarks.ts';
import type { PuppetSizes } from '../puppet/profile.ts';
import type { ArcFrame } from '../timing/arc.ts';
import type { FaultPoses } from '../timing/arcFault.ts';
import type { LagMeasure } from '../timing/lags.ts';
import type { Behind } from '../timing/retime.ts';
import type { MoveFrames } from '../timing/spacingChart.ts';
import type { Placement, SwappedPart } from '../track/correction.ts';
import type { DoubtOrder } from '../track/doubtGroups.ts';
import type { MarkingRun } from './check/markingRun.ts';
import { keepSetLight, keptSetLight, type SetLight } from './onset/setLight.ts';
import { keepPaper, keptPaper } from './paperChoice.ts';
import { applyTheme, showTheme, storedTheme, type Theme } from './theme.ts';

/** What the panel of the Timing screen shows. */
export type TimingTab = 'poses' | 'exposures' | 'retime' | 'phases' | 'sound';
/** What the panel of the Arcs screen shows. */
export type ArcsTab = 'paths' | 'spacing' | 'faults' | 'weight';

/** What the panel of the Puppet screen shows. */
export type PuppetTab = 'ability' | 'lengths' | 'joints';

/** What the animator is looking at. Neither saved nor undone. */
export class View {
  theme = $state<Theme>(storedTheme());
  #paper = $state<PaperName>(keptPaper());
  #setLight = $state<SetLight>(keptSetLight());
  /** The joint whose path and numbers are shown on the Tracks screen. */
  joint = $state<Joint>('rightWrist');
  /** The take's own timing is shown instead of the shot's, to compare. */
  showsOwnTiming = $state(false);
  /** What a change of time does to what follows. */
  behind = $state<Behind>('ripple');
  /** Where a span that is exposed by hand begins, while its end is being looked for. */
  exposingFrom = $state<number | null>(null);
  /** The frame from which a hand is being marked as keeping its place; null = none is. */
  keepingFrom = $state<number | null>(null);
  timingTab = $state<TimingTab>('poses');
  arcsTab = $state<ArcsTab>('paths');
  puppetTab = $state<PuppetTab>('lengths');
  /** The length that is pointed out in the drawing of the puppet; null = none. */
  puppetSize = $state<keyof PuppetSizes | 'tail' | null>(null);
  /** The part whose phases are shown; null = the whole body's. */
  phasePart = $state<Part | null>(null);
  /** Whose extremes are marked on the Poses tab; null = nobody's. */
  extremesPart = $state<Part | null>(null);
  /** The body reacts to the sounds of the take: how long it waits is shown. */
  soundsAreCues = $state(false);
  /** Frames in which a repeated movement is looked for, from 0, inclusive; null = the whole shot. */
  repeatSpan = $state.raw<{ readonly firstFrame: number; readonly lastFrame: number } | null>(null);
  /** The chain whose lead and drag is shown, by id, and what is compared down it. */
  lagChain = $state('leftArm');
  lagMeasure = $state<LagMeasure>('turning');
  /** Parts whose arcs are drawn, at most `mostArcs`; the last is the one whose numbers are shown. */
  arcJoints = $state.raw<readonly Part[]>(['rightWrist']);
  arcRelativeTo = $state.raw<ArcFrame>('picture');
  /** The circle that the arc follows over the move on screen is drawn. */
  showsCircle = $state(false);
  showsTicks = $state(true);
  /** Frames between which spacing is looked at, instead of from key to key. */
  pickedMove = $state.raw<MoveFrames | null>(null);
  /** The poses whose faults are listed. */
  faultPoses = $state<FaultPoses>('exposures');
  /** The dialog that films with this machine's camera. */
  recordIsOpen = $state(false);
  showsSkeleton = $state(true);
  showsOnions = $state(false);
  /** The take's sound is played along. */
  hearsSound = $state(true);
  /** ... also a frame's worth of it at each step. */
  hearsFrames = $state(true);
  /** Hold each exposure as the audience would see it, or show every frame. */
  asExposed = $state(true);
  /** The joint being dragged on the picture, as it would be placed if it were let go now. */
  dragged = $state.raw<Placement | null>(null);
  /** The doubt that was jumped to, marked on graph and strip. */
  doubt = $state.raw<DoubtSpan | null>(null);
  /** Where it stood in the list of doubts, from 0. */
  doubtPlace = 0;
  doubtOrder = $state<DoubtOrder>('worst');
  graphShows = $state<'place' | 'speed'>('place');
  /** A span that is being marked: what it will say, and the frame where it began. */
  marking = $state.raw<{ readonly kind: 'hide' | 'swapSides'; readonly fromFrame: number } | null>(null);
  swappedPart = $state<SwappedPart>('all');
  /** The performer is being pointed out on the picture. */
  isPointing = $state(false);
  /** A point is being marked on the picture: a new one, or one that is known; null = none. */
  markingPoint = $state<PropId | 'new' | null>(null);

  /** The marked point of the shot that is set anew in its picture on the Check screen; null = none is. */
  lostPoint = $state<PropId | null>(null);
  /** Joints of the shot that are being marked one after the other on the Check screen; null = none are. */
  markingRun = $state.raw<MarkingRun | null>(null);
  /** The finding that is looked at on the Check screen, by its `findingKey`; null = none. */
  finding = $state<string | null>(null);
  /** A ruler that is being laid in the shot's picture: the ends that were pressed, both until its length is known; null = none is. */
  rulerEnds = $state.raw<readonly Point[] | null>(null);
  /** The ruler as it would lie if the end that is dragged were let go now. */
  rulerDragged = $state.raw<readonly [Point, Point] | null>(null);

  /** At the set the list of what was shot is shown instead of the moves. */
  showsTaken = $state(false);
  /** ... or every note of the exposure. */
  showsNotes = $state(false);

  /** The darkest colours there are. Afterwards it stays dark until light is asked for: the lamp is still on the puppet. */
  goDark(): void {
    this.theme = 'dark';
    showTheme('set');
  }

  /** Back from the set. */
  leaveDark(): void {
    showTheme(this.theme);
  }

  /** Light for the desk, dark beside the set. */
  turnTheme(): void {
    this.theme = this.theme === 'light' ? 'dark' : 'light';
    applyTheme(this.theme);
  }

  /** What the printer holds. It is remembered in this browser; which way round it lies is the shot's. */
  get paper(): PaperName {
    return this.#paper;
  }

  set paper(paper: PaperName) {
    this.#paper = paper;
    keepPaper(paper);
  }

  /** How bright the screen at the set is. It is remembered in this browser. */
  get setLight(): SetLight {
    return this.#setLight;
  }

  set setLight(light: SetLight) {
    this.#setLight = light;
    keepSetLight(light);
  }

  /** Shows the arc of a joint, or takes it away again. The oldest gives way when there are too many to tell apart. */
  toggleArc(joint: Part): void {
    this.arcJoints = this.arcJoints.includes(joint)
      ? this.arcJoints.filter((j) => j !== joint)
      : [...this.arcJoints, joint].slice(-mostArcs);
  }
}

/** More arcs than this cannot be told apart on one picture, nor on grey paper. */
export const mostArcs = 4;
