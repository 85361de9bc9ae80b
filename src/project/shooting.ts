import { never } from '../base/assert.ts';

/** An exposure as it was shot. Kept by frame: exposures are counted anew whenever the timing changes. */
export interface TakenExposure {
  /** First frame (from 0) that it was shot for, and how many frames it was to stay. */
  readonly firstFrame: number;
  readonly frames: number;
  /** The moment of the take that the plan showed at its first frame, seconds: whether the plan still means that pose is seen by it. */
  readonly takeSec: number;
  /** The pose before it was shot once more, and nothing moved. */
  readonly isHeld: boolean;
  /** When it was marked as shot, milliseconds since 1970. */
  readonly atMs: number;
}

/** Where the metronome clicks in a rehearsal, besides each key pose: nowhere else, on the book's beats, or on every frame. */
export type Clicks = 'poses' | 'beats' | 'frames';

/**
 * How far the shot is shot. What happened at the set is no decision: it is not undone along with decisions, and no edit of the shot
 * changes it. Immutable.
 */
export interface Shooting {
  /** First frame (from 0) of the exposure on the screen at the set; the shot's frame count or more = all is done. */
  readonly atFrame: number;
  /** In the order in which they were marked. The same frames may come twice: then they were shot again. */
  readonly taken: readonly TakenExposure[];
  /** Each next move is spoken. */
  readonly speaks: boolean;
  /** The screen rehearses the pop-through instead of counting exposures. */
  readonly rehearses: boolean;
  readonly clicks: Clicks;
  /** A picture of the shot that comes in marks its exposure as shot. */
  readonly stepsByPicture: boolean;
  /** Rises by one with every change, so that the newer of two copies of a book's shooting is known. */
  readonly changes: number;
}

/** Nothing was shot yet. */
export const notBegun: Shooting = {
  atFrame: 0,
  taken: [],
  speaks: false,
  rehearses: false,
  clicks: 'beats',
  stepsByPicture: false,
  changes: 0,
};

/** What happens at the set. */
export type ShootingEdit =
  /** An exposure was shot; the next one to be shown begins at `nextFrame`. */
  | { readonly kind: 'take'; readonly exposure: TakenExposure; readonly nextFrame: number }
  /** The last mark was wrong, or its picture was thrown away: the place goes back there. */
  | { readonly kind: 'takeBack' }
  /** Another exposure is looked at; no mark changes. */
  | { readonly kind: 'lookAt'; readonly frame: number }
  | { readonly kind: 'setSpeaks'; readonly speaks: boolean }
  | { readonly kind: 'setRehearses'; readonly rehearses: boolean }
  | { readonly kind: 'setClicks'; readonly clicks: Clicks }
  | { readonly kind: 'setStepsByPicture'; readonly stepsByPicture: boolean };

/** The shooting after one more event; the same object where nothing changes. */
export function applyShooting(shooting: Shooting, edit: ShootingEdit): Shooting {
  const changed = changeOf(shooting, edit);
  const isSame = Object.entries(changed).every(([name, value]) => shooting[name as keyof Shooting] === value);
  return isSame ? shooting : { ...shooting, ...changed, changes: shooting.changes + 1 };
}

function changeOf({ taken }: Shooting, edit: ShootingEdit): Partial<Shooting> {
  switch (edit.kind) {
    case 'take':
      return { taken: [...taken, edit.exposure], atFrame: edit.nextFrame };
    case 'takeBack': {
      const last = taken.at(-1);
      return last ? { taken: taken.slice(0, -1), atFrame: last.firstFrame } : {};
    }
    case 'lookAt':
      return { atFrame: edit.frame };
    case 'setSpeaks':
      return { speaks: edit.speaks };
    case 'setRehearses':
      return { rehearses: edit.rehearses };
    case 'setClicks':
      return { clicks: edit.clicks };
    case 'setStepsByPicture':
      return { stepsByPicture: edit.stepsByPicture };
    default:
      return never(edit);
  }
}
