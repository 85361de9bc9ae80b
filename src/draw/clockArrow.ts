import { PathPen } from './pathPen.ts';

/** A small arrow pointing to an hour of the clock (12 = up), centred on (x, y), `size` long. Path data to be stroked. */
export function clockArrow(hour: number, x: number, y: number, size: number): string {
  const angle = (hour * 30 * Math.PI) / 180;
  const [ux, uy] = [Math.sin(angle), -Math.cos(angle)];
  const [tipX, tipY] = [x + (ux * size) / 2, y + (uy * size) / 2];
  const barb = size * 0.36;
  const barbAt = (turn: number): readonly [number, number] => {
    const a = angle + Math.PI + turn;
    return [tipX + Math.sin(a) * barb, tipY - Math.cos(a) * barb];
  };
  const pen = new PathPen().line(x - (ux * size) / 2, y - (uy * size) / 2, tipX, tipY);
  return pen
    .moveTo(...barbAt(0.55))
    .lineTo(tipX, tipY)
    .lineTo(...barbAt(-0.55))
    .toString();
}
