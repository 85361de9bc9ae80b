import { existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from 'vitest';
import type { Scene } from '../../src/draw/scene.ts';
import { type ThemeName, themes } from '../../src/draw/tokens.ts';
import { toSvg } from '../../src/draw/toSvg.ts';

const folder = join(import.meta.dirname, 'golden');

/**
 * Holds a scene to the picture that was looked at and kept. A difference is written beside it as *.changed.svg: look at
 * both; if the new one is right, rename it over the old.
 */
export function expectGolden(name: string, scene: Scene, theme: ThemeName): void {
  const kept = join(folder, `${name}.svg`);
  const changed = join(folder, `${name}.changed.svg`);
  const now = rounded(toSvg(scene, { theme: themes[theme] }));
  const before = existsSync(kept) ? readFileSync(kept, 'utf8') : null;
  if (now === before) {
    rmSync(changed, { force: true });
    return;
  }
  mkdirSync(folder, { recursive: true });
  writeFileSync(changed, now);
  expect.fail(`${name} looks different: compare ${name}.changed.svg with ${name}.svg in tests/draw/golden`);
}

/** Numbers to three digits, so that another processor's last bit is no change. */
function rounded(svg: string): string {
  return svg.replace(/-?\d+\.\d{4,}/g, (n) => String(Math.round(Number(n) * 1000) / 1000));
}
