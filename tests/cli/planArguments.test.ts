import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { shotRates } from '../../src/base/frameRate.ts';
import { parsePlanArguments } from '../../src/cli/planArguments.ts';

const parse = (line: string) => parsePlanArguments(line.split(' ').filter(Boolean));
const request = (line: string) => {
  const parsed = parse(line);
  if (!parsed.ok) throw new Error(parsed.say);
  return parsed.request;
};
const complaint = (line: string) => {
  const parsed = parse(line);
  if (parsed.ok) throw new Error('was accepted');
  expect(parsed.exitCode).toBe(2);
  return parsed.say.split('\n')[0];
};

describe('the words after npm run plan', () => {
  it('give one target per take, named without the extension', () => {
    const r = request('shots/a.b.mp4 walk/ --fps 25 --on 3 --puppet-height 180.5 --out made --model quick');
    expect(r.takes).toEqual([
      { path: 'shots/a.b.mp4', name: 'a.b', outDir: join('made', 'a.b') },
      { path: 'walk/', name: 'walk', outDir: join('made', 'walk') },
    ]);
    expect(r).toMatchObject({ onFrames: 3, puppetHeightMm: 180.5, model: 'quick', stillsFps: 25 });
    expect(r.rate).toMatchObject({ frames: 25, seconds: 1 });
  });

  it('may leave everything but the take to the defaults', () => {
    expect(request('a.mp4')).toMatchObject({
      onFrames: 2,
      puppetHeightMm: null,
      puppetFile: null,
      model: 'fine',
      stillsFps: 24,
      print: { paper: 'A4', orientation: 'portrait', pages: null },
    });
  });

  it('choose paper and pages, and are told what there is where they name none', () => {
    expect(request('a.mp4 --paper Letter --landscape --pages card,arcs').print).toEqual({
      paper: 'Letter',
      orientation: 'landscape',
      pages: ['card', 'arcs'],
    });
    expect(request('a.mp4 --pages all').print.pages).toHaveLength(6);
    expect(complaint('a.mp4 --paper A5')).toBe('--paper takes A4 or Letter, not “A5”.');
    expect(complaint('a.mp4 --pages card,arc')).toBe(
      '--pages takes card, popThrough, sheet, moves, arcs, spacing or all, with commas between, not “arc”.',
    );
  });

  it('take every offered rate by its label, exactly', () => {
    for (const rate of shotRates) expect(request(`a.mp4 --fps ${rate.label}`).rate).toEqual(rate);
    expect(request('a.mp4 --fps=23.976').rate).toMatchObject({ frames: 24000, seconds: 1001 });
  });

  it('are answered by the offered rates when the rate is none of them', () => {
    expect(complaint('a.mp4 --fps 23')).toBe(
      '--fps “23” is not offered. Choose one of 12, 15, 18, 23.976, 24, 25, 29.97, 30, 48, 50, 60.',
    );
  });

  it.each([
    ['', 'Name at least one take'],
    ['a.mp4 --on 0', '--on takes 1, 2, 3 or 4, not “0”'],
    ['a.mp4 --on two', '--on takes 1, 2, 3 or 4, not “two”'],
    ['a.mp4 --puppet-height 9', '--puppet-height takes millimetres from 10 to 3000, not “9”'],
    ['a.mp4 --puppet-height 25cm', 'not “25cm”'],
    ['a.mp4 --puppet-height NaN', 'not “NaN”'],
    ['a.mp4 --puppet-height=', 'not “”'],
    ['a.mp4 --stills-fps Infinity', '--stills-fps takes pictures per second from 1 to 240'],
    ['a.mp4 --model best', '--model takes quick or fine, not “best”'],
    ['a.mp4 --fsp 24', "Unknown option '--fsp'"],
    ['a.mp4 --out', '--out'],
    ['one/a.mp4 two/a.mov', 'would both be written to plans/a'],
  ])('are refused in one sentence: %s', (line, sentence) => {
    expect(complaint(line)).toContain(sentence);
  });

  it('print the usage with exit code 0 when asked', () => {
    expect(parse('--help')).toMatchObject({
      ok: false,
      exitCode: 0,
      say: expect.stringContaining('Usage: npm run plan'),
    });
  });

  it('never crash the parser', () => {
    const word = fc.oneof(
      fc.string(),
      fc.constantFrom('--fps', '--on', '--out', '24', '--', '-x', '--model=quick', '/'),
    );
    fc.assert(fc.property(fc.array(word), (words) => void parsePlanArguments(words)));
  });
});
