import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { View } from '../../src/app/view.svelte.ts';

const speaks = (language: string) => vi.spyOn(navigator, 'language', 'get').mockReturnValue(language);

beforeEach(() => localStorage.clear());
afterEach(() => {
  vi.restoreAllMocks();
  localStorage.clear();
});

describe('the paper in the printer', () => {
  it('is what is the custom, until another is chosen: that is there again next time', () => {
    speaks('en-US');
    expect(new View().paper).toBe('Letter');
    speaks('en-GB');
    const view = new View();
    expect(view.paper).toBe('A4');
    view.paper = 'Letter';
    expect(view.paper).toBe('Letter');
    expect(new View().paper).toBe('Letter');
  });

  it('is the custom where something else was kept, and where nothing can be', () => {
    speaks('de-DE');
    localStorage.setItem('nudgebook-paper', 'Foolscap');
    expect(new View().paper).toBe('A4');
    vi.spyOn(Storage.prototype, 'getItem').mockImplementation(() => {
      throw new DOMException('no storage', 'SecurityError');
    });
    vi.spyOn(Storage.prototype, 'setItem').mockImplementation(() => {
      throw new DOMException('no storage', 'SecurityError');
    });
    const view = new View();
    expect(view.paper).toBe('A4');
    view.paper = 'Letter';
    expect(view.paper).toBe('Letter');
  });
});
