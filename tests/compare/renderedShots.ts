import { readdirSync, readFileSync } from 'node:fs';
import { type Joint, jointWords } from '../../src/base/joints.ts';
import type { PictureStep } from '../../src/compare/cameraEvents.ts';
import type { PlannedShot, ShotPictures } from '../../src/compare/shot.ts';
import { type PlannedPictures, shotOnPlan } from '../../src/compare/shotFrames.ts';
import { markedJoints, shotMotion } from '../../src/compare/shotMotion.ts';
import type { PuppetPath } from '../../src/puppet/puppetMotion.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import type { SeenProp } from '../../src/track/propTracks.ts';
import type { Sightings } from '../../src/track/sighting.ts';
import { type KeptFile, unpackSightings } from '../track/keptSightings.ts';
import type { MadeFault, ShotFault } from './madeFaults.ts';

/** A shot whose pictures were drawn and looked at by the detector. */
export interface RenderedShot {
  readonly fault: ShotFault;
  readonly made: readonly MadeFault[];
  readonly sightings: Sightings;
  readonly steps: readonly PictureStep[];
}

/** The rendered shots of one plan. */
export interface RenderedShots {
  readonly plan: PlannedShot;
  readonly shots: readonly RenderedShot[];
}

const folder = new URL('../../fixtures/shots/', import.meta.url);

interface KeptPlan extends Omit<PlannedShot, 'motion'> {
  readonly profile: PlannedShot['motion']['profile'];
  readonly planted: PlannedShot['motion']['planted'];
  readonly paths: Readonly<Record<string, { readonly x: (number | null)[]; readonly y: (number | null)[] }>>;
}

/** Names of the shots that are kept. */
export function renderedNames(dir: URL = folder): string[] {
  return readdirSync(dir)
    .filter((name) => name.endsWith('.json'))
    .map((name) => name.replace(/\.json$/, ''))
    .sort();
}

/** Shots as `fixtures/shootPuppets.ts` keeps them. */
export function renderedShots(name: string, dir: URL = folder): RenderedShots {
  const file = JSON.parse(readFileSync(new URL(`${name}.json`, dir), 'utf8')) as {
    readonly plan: KeptPlan;
    readonly shots: readonly (Omit<RenderedShot, 'sightings'> & { readonly sightings: KeptFile })[];
  };
  return {
    plan: planOf(file.plan),
    shots: file.shots.map((shot) => ({ ...shot, sightings: unpackSightings(shot.sightings) })),
  };
}

function planOf({ profile, planted, paths, ...plan }: KeptPlan): PlannedShot {
  const column = (whole: readonly (number | null)[]) =>
    Float64Array.from(whole, (v) => (v === null ? Number.NaN : v / 100));
  const places = new Map<Joint, PuppetPath>();
  let count = 0;
  for (const [joint, { x, y }] of Object.entries(paths)) {
    count = x.length;
    const none = new Float64Array(count);
    places.set(joint as Joint, {
      xMm: column(x),
      yMm: column(y),
      zMm: none,
      sdMm: none,
      guessed: new Uint8Array(count),
    });
  }
  const fps = plan.rate.frames / plan.rate.seconds;
  const timesSec = Float64Array.from({ length: count }, (_, k) => k / fps);
  return {
    ...plan,
    motion: {
      profile,
      planted,
      paths: places,
      followed: { timesSec, paths: new Map() },
      mmPerPx: 1,
      originPx: [0, 0],
      held: [],
      legRatio: 1,
      feetSeen: true,
      outOfReach: [],
      walks: [],
      unplanted: [],
    },
  };
}

/** A shot as the app lays it over its plan: one picture for each exposure. */
export function shotOf(all: RenderedShots, shot: RenderedShot): ShotPictures {
  return markedShotOf(all, shot, []);
}

/** The same with joints marked by hand. @param isRecognised the detector has looked at it, too. */
export function markedShotOf(
  { plan }: RenderedShots,
  { sightings, steps }: RenderedShot,
  points: readonly SeenProp[],
  isRecognised = true,
): ShotPictures {
  const last = plan.exposures.at(-1)!;
  const planned: PlannedPictures = {
    frameCount: last.firstFrame + last.frames,
    exposures: plan.exposures,
    poseFrames: [],
  };
  const tracks = isRecognised ? fitTracks(sightings, [], { byHand: true }) : null;
  const motion = shotMotion(tracks, points, sightings.timesSec)!;
  const frames = plan.exposures.map((e) => e.firstFrame);
  return { ...shotOnPlan('exposures', frames, planned, motion, steps)!, marked: markedJoints(points) };
}

/** What was seen of joints that were marked in a rendered shot, as `fixtures/followMarks.ts` keeps it. */
export interface MarkedPoints {
  readonly fault: ShotFault;
  readonly points: ReadonlyMap<Joint, SeenProp>;
  /** How often a hand marked something. */
  readonly marks: number;
}

const marksFolder = new URL('../../fixtures/marks/', import.meta.url);

/** Names of the shots whose joints were marked. */
export function markedNames(): string[] {
  return renderedNames(marksFolder);
}

/** The marked points of each of a name's shots. */
export function markedPoints(name: string, dir: URL = marksFolder): MarkedPoints[] {
  type Column = readonly (number | null)[];
  type Kept = Readonly<
    Record<
      Joint,
      { readonly marks: number; readonly xTenths: Column; readonly yTenths: Column; readonly sdHundredths: Column }
    >
  >;
  const file = JSON.parse(readFileSync(new URL(`${name}.json`, dir), 'utf8')) as readonly {
    readonly fault: ShotFault;
    readonly points: Kept;
  }[];
  const column = (whole: Column, times: number) =>
    Float64Array.from(whole, (v) => (v === null ? Number.NaN : v / times));
  return file.map(({ fault, points }) => ({
    fault,
    marks: Object.values(points).reduce((sum, { marks }) => sum + marks, 0),
    points: new Map(
      Object.entries(points).map(([joint, { xTenths, yTenths, sdHundredths }]): [Joint, SeenProp] => {
        const name = jointWords(joint as Joint);
        return [
          joint as Joint,
          {
            prop: { id: `prop:${name}`, name, marks: [], absent: [] },
            timesSec: Float64Array.from(xTenths, (_, i) => i / 24),
            xPx: column(xTenths, 10),
            yPx: column(yTenths, 10),
            sdPx: column(sdHundredths, 100),
            gaps: [],
          },
        ];
      }),
    ),
  }));
}
