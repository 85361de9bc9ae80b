/**
 * Why a point was given up: it left the picture; there is nothing to hold on to (flat, or one straight edge); the next
 * picture shows something else there (covered, blurred away, too fast); its look changed so often since it was marked
 * that it may have slipped to something else.
 */
export type WhyLost = 'left-picture' | 'no-texture' | 'covered' | 'changed';
