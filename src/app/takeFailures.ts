import type { Failure } from '../base/failure.ts';

/** Movement is found between pictures, and its turns need one on either side. */
export const leastPictures = 3;

/** A take with fewer than `leastPictures` pictures. */
export function tooShort(pictures: number): Failure {
  return {
    code: 'take-too-short',
    sentence: `This take has only ${pictures} ${pictures === 1 ? 'picture' : 'pictures'}: too few to find a movement in. Film the whole action, or choose another video.`,
  };
}

/** A take in which no performer was found. */
export const nobodySeen: Failure = {
  code: 'nobody-seen',
  sentence:
    'Nobody was seen in this take, so there is nothing to plan from. Check that the whole body is in the picture and well lit, then film it again or choose another video.',
};
