import { type ThemeName, themeCss, themes } from '../draw/tokens.ts';
import { keepChoice, keptChoice } from './keptChoice.ts';

/** The screens' themes; paper is for printing only. */
export type Theme = Exclude<ThemeName, 'paper'>;

const place = 'nudgebook-theme';

/** The theme chosen last in this browser, else what the system prefers. */
export function storedTheme(): Theme {
  return (
    keptChoice(place, ['light', 'dark']) ?? (matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light')
  );
}

/** Puts the theme's colours on the page and remembers the choice. */
export function applyTheme(theme: Theme): void {
  document.documentElement.setAttribute('style', `${themeCss(themes[theme])} color-scheme: ${theme};`);
  document.documentElement.dataset.theme = theme;
  keepChoice(place, theme);
}
