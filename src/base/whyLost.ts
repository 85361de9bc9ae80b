/**
 * Why a point was given up: it left the picture; there is nothing to hold on to (flat, or one straight edge); the next
 * picture shows something else there (covered, blurred away, too fast); its look changed so often since it was marked
 * that it may have slipped to something else.
 */
export type WhyLost = 'left-picture' | 'no-texture' | 'covered' | 'changed';

/**
 * A lost point is searched for in so many pictures before it is given up, a quarter of a second at 30 fps. Searching longer
 * would save a question now and then, but on knitted cloth what was found after a second was a stitch beside, or the other
 * hip.
 */
export const searchPictures = 8;
