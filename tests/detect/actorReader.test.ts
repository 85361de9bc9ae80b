import { describe, expect, it } from 'vitest';
import { detectedJoints } from '../../src/base/joints.ts';
import { ActorReader, differentPeople } from '../../src/detect/actorReader.ts';
import type { Person } from '../../src/detect/performer.ts';
import { emptyEstimate, estimateStep, type PeopleFinder, type PoseModel } from '../../src/detect/poseModel.ts';
import type { Picture } from '../../src/ingest/picture.ts';
import type { Region } from '../../src/ingest/pixels.ts';

/** A made world: one figure somewhere in a picture, seen only by crops that hold it and in which it is large enough. */
class MadeWorld {
  figure: Region | null = { x: 40, y: 400, width: 150, height: 500 };
  readonly looks: Region[] = [];
  searches = 0;
  #crop: Region = { x: 0, y: 0, width: 1, height: 1 };

  picture(index: number): Picture {
    return {
      index,
      sample: async (region) => {
        this.#crop = region;
      },
      sampleLuma: async () => {},
      close() {},
    };
  }

  readonly model: PoseModel = {
    name: 'made',
    inputSide: 4,
    estimate: async () => {
      this.looks.push(this.#crop);
      const { x, y, width, height } = this.#crop;
      const figure = this.figure;
      const holds =
        figure !== null &&
        figure.x >= x &&
        figure.y >= y &&
        figure.x + figure.width <= x + width &&
        figure.y + figure.height <= y + height &&
        figure.height > 0.3 * height;
      const out = emptyEstimate();
      detectedJoints.slice(0, 17).forEach((_, j) => {
        const px = figure ? figure.x + (j % 2) * figure.width : 0;
        const py = figure ? figure.y + (Math.floor(j / 2) / 8) * figure.height : 0;
        out.set([(px - x) / width, (py - y) / height, holds ? 0.8 : 0.05], estimateStep * j);
      });
      return out;
    },
    dispose() {},
  };

  readonly finder: PeopleFinder = {
    inputSide: 256,
    find: async () => {
      this.searches++;
      const f = this.figure;
      const box = f && { x: f.x / 1920, y: f.y / 1080, width: f.width / 1920, height: f.height / 1080 };
      return box ? [{ score: 0.7, box, trunk: null }] : [];
    },
    dispose() {},
  };

  reader(finder: PeopleFinder | null = this.finder): ActorReader {
    return new ActorReader(this.model, finder, 1920, 1080);
  }
}

const sureness = (confidence: Float32Array) => Math.max(...confidence);

describe('ActorReader', () => {
  it('finds an actor at the far left of a wide picture in the first picture, and keeps to a tight crop', async () => {
    const world = new MadeWorld();
    const reader = world.reader();
    const { pose, people } = await reader.read(world.picture(0), true);
    expect(people?.length).toBe(1);
    // In the picture's own pixels.
    expect(people?.[0]?.box.x).toBeCloseTo(40);
    expect(sureness(pose.confidence)).toBeCloseTo(0.8);
    expect(pose.xPx[0]).toBeCloseTo(40, 2);
    expect(pose.yPx[16]).toBeCloseTo(900, 2);
    await reader.read(world.picture(1), false);
    const last = world.looks[world.looks.length - 1]!;
    expect(last.height).toBeLessThan(800);
    expect(world.looks.length).toBe(2);
  });

  it('finds the actor by tiles where people cannot be searched', async () => {
    const world = new MadeWorld();
    world.figure = { x: 40, y: 400, width: 150, height: 400 };
    const { pose, people } = await world.reader(null).read(world.picture(0), true);
    expect(people).toBeNull();
    expect(sureness(pose.confidence)).toBeCloseTo(0.8);
  });

  it('finds an actor again, in the same picture, who leapt out of the crop', async () => {
    const world = new MadeWorld();
    const reader = world.reader();
    await reader.read(world.picture(0), false);
    world.figure = { x: 1700, y: 400, width: 150, height: 500 };
    const { pose } = await reader.read(world.picture(1), false);
    expect(sureness(pose.confidence)).toBeCloseTo(0.8);
    expect(pose.xPx[0]).toBeCloseTo(1700, 1);
  });

  it('finds an actor who enters late, without searching every empty picture', async () => {
    const world = new MadeWorld();
    const figure = world.figure;
    world.figure = null;
    const reader = world.reader();
    for (let i = 0; i < 20; i++) await reader.read(world.picture(i), false);
    expect(world.searches).toBe(4);
    world.figure = figure;
    const seen: boolean[] = [];
    for (let i = 20; i < 26; i++)
      seen.push(sureness((await reader.read(world.picture(i), false)).pose.confidence) > 0.5);
    expect(seen.slice(-1)).toEqual([true]);
    expect(seen.filter((s) => !s).length).toBeLessThan(5);
  });

  it('counts people only where asked to', async () => {
    const world = new MadeWorld();
    const reader = world.reader();
    await reader.read(world.picture(0), true);
    expect((await reader.read(world.picture(1), false)).people).toBeNull();
    expect((await reader.read(world.picture(2), true)).people?.length).toBe(1);
  });
});

it('differentPeople takes two boxes over one another for one person, side by side for two', () => {
  const person = (x: number, score: number): Person => ({
    score,
    colour: null,
    box: { x, y: 0, width: 0.2, height: 0.6 },
  });
  const surest = person(0.1, 0.9);
  expect(differentPeople([person(0.12, 0.4), surest, person(0.5, 0.5)])).toEqual([surest, person(0.5, 0.5)]);
});
