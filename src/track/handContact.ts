/** A hand that keeps its place from one moment of the take to another (take seconds, both included): on a table, on a rail. */
export interface HandContact {
  readonly id: string;
  readonly hand: 'leftWrist' | 'rightWrist';
  readonly startSec: number;
  readonly endSec: number;
}
