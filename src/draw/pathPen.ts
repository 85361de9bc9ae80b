/** Writes SVG path data. Coordinates are in scene units, rounded to a thousandth, so that texts of scenes can be compared. */
export class PathPen {
  #parts: string[] = [];

  moveTo(x: number, y: number): this {
    this.#parts.push(`M${short(x)} ${short(y)}`);
    return this;
  }

  lineTo(x: number, y: number): this {
    this.#parts.push(`L${short(x)} ${short(y)}`);
    return this;
  }

  line(x1: number, y1: number, x2: number, y2: number): this {
    return this.moveTo(x1, y1).lineTo(x2, y2);
  }

  /** A quadratic curve from where the pen is. */
  curveTo(controlX: number, controlY: number, x: number, y: number): this {
    this.#parts.push(`Q${short(controlX)} ${short(controlY)} ${short(x)} ${short(y)}`);
    return this;
  }

  close(): this {
    this.#parts.push('Z');
    return this;
  }

  rect(x: number, y: number, width: number, height: number): this {
    return this.polygon([
      [x, y],
      [x + width, y],
      [x + width, y + height],
      [x, y + height],
    ]);
  }

  polygon(points: readonly (readonly [number, number])[]): this {
    for (const [i, [x, y]] of points.entries()) i === 0 ? this.moveTo(x, y) : this.lineTo(x, y);
    return this.close();
  }

  circle(x: number, y: number, r: number): this {
    return this.pill(x, y, 0, r);
  }

  /** A circle pulled out sideways: two half circles `flat` apart, centred on (x, y). */
  pill(x: number, y: number, flat: number, r: number): this {
    const [left, right] = [x - flat / 2, x + flat / 2];
    this.moveTo(left, y + r);
    this.#parts.push(`A${short(r)} ${short(r)} 0 0 1 ${short(left)} ${short(y - r)}`);
    this.lineTo(right, y - r);
    this.#parts.push(`A${short(r)} ${short(r)} 0 0 1 ${short(right)} ${short(y + r)}`);
    return this.close();
  }

  /** A line with round ends, as thick as twice `r`. */
  capsule(x1: number, y1: number, x2: number, y2: number, r: number): this {
    const long = Math.hypot(x2 - x1, y2 - y1);
    if (long === 0) return this.circle(x1, y1, r);
    const [nx, ny] = [(-(y2 - y1) / long) * r, ((x2 - x1) / long) * r];
    this.moveTo(x1 + nx, y1 + ny);
    this.#parts.push(`A${short(r)} ${short(r)} 0 0 1 ${short(x1 - nx)} ${short(y1 - ny)}`);
    this.lineTo(x2 - nx, y2 - ny);
    this.#parts.push(`A${short(r)} ${short(r)} 0 0 1 ${short(x2 + nx)} ${short(y2 + ny)}`);
    return this.close();
  }

  /** The path data so far; "" when nothing was drawn. */
  toString(): string {
    return this.#parts.join('');
  }
}

/** A number with at most three digits behind the point, without trailing zeros or −0. */
export function short(value: number): string {
  return String(Math.round(value * 1000) / 1000 + 0);
}
