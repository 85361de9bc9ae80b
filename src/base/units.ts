declare const unit: unique symbol;

/**
 * A number that remembers its unit at compile time and costs nothing at run time. A plain literal may enter; a value of
 * another unit may not; arithmetic gives a plain number, so name the result.
 */
export type Unit<U extends string> = number & { readonly [unit]?: U };

/** Seconds on the take's own clock (its first kept picture is at 0) or on the shot's clock, as the name says. */
export type Seconds = Unit<'s'>;
/** How many animation frames. */
export type Frames = Unit<'frame count'>;
/** Which animation frame, counted from 0. Screens and paper add 1. */
export type FrameIndex = Unit<'frame, from 0'>;
/** Upright video pixels; y points down. */
export type Px = Unit<'video px'>;
/** Millimetres on the puppet. */
export type Mm = Unit<'mm'>;
/** Degrees, clockwise as seen on the screen. */
export type Degrees = Unit<'deg'>;
/** Multiples of the performer's standing height in the picture. A ratio; labels multiply by 100. */
export type BodyHeights = Unit<'body heights'>;
