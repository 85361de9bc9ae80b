const ways: Record<string, readonly [x: number, y: number]> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

/** Which way an arrow key moves something in the picture, one step, y down; null = it is no arrow key. */
export function arrowWay({ key }: KeyboardEvent): readonly [x: number, y: number] | null {
  return ways[key] ?? null;
}
