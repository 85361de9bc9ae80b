import { keepChoice, keptChoice } from '../keptChoice.ts';

/**
 * How bright the screen at the set is, as shares of the brightest, which is dark already: its mean stays below 5 %. At the
 * darkest, digits still stand out from the ground by 3 to 1 (WCAG 2.2 for large text).
 */
export const setLights = ['0.65', '0.75', '0.87', '1'] as const;
/** One of them. */
export type SetLight = (typeof setLights)[number];

const place = 'nudgebook-set-light';

/** The one chosen last in this browser, else the brightest. */
export function keptSetLight(): SetLight {
  return keptChoice(place, setLights) ?? '1';
}

/** Remembers it in this browser: it belongs to the room, not to the shot. */
export function keepSetLight(light: SetLight): void {
  keepChoice(place, light);
}

/** One step darker (−1) or brighter (1); the same where there is none. */
export function steppedLight(light: SetLight, by: -1 | 1): SetLight {
  return setLights[setLights.indexOf(light) + by] ?? light;
}
