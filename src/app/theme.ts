import { type ThemeName, themeCss, themes } from '../draw/tokens.ts';
import { keepChoice, keptChoice } from './keptChoice.ts';

/** The themes to choose from; paper is for printing only, and the one of the set comes with its screen. */
export type Theme = Exclude<ThemeName, 'paper' | 'set'>;

const place = 'nudgebook-theme';

/** The theme chosen last in this browser, else what the system prefers. */
export function storedTheme(): Theme {
  return (
    keptChoice(place, ['light', 'dark']) ?? (matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light')
  );
}

/** Puts a theme's colours on the page. */
export function showTheme(theme: Theme | 'set'): void {
  const scheme = theme === 'light' ? 'light' : 'dark';
  document.documentElement.setAttribute('style', `${themeCss(themes[theme])} color-scheme: ${scheme};`);
  document.documentElement.dataset.theme = theme;
}

/** Puts the theme's colours on the page and remembers the choice. */
export function applyTheme(theme: Theme): void {
  showTheme(theme);
  keepChoice(place, theme);
}
