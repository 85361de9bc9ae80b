import { compareShot } from '../../compare/compareShot.ts';
import { jointScale } from '../../compare/jointScale.ts';
import { answerCalls, type CallScope } from '../../ingest/calls.ts';
import type { CompareCalls } from './compareProtocol.ts';

answerCalls<CompareCalls>(self as unknown as CallScope, {
  compare: async ({ plan, shot, choice }) => {
    const made = compareShot(plan, shot, choice);
    if (!made) return { reply: { comparison: null, byJoints: null } };
    const { deviations: _, ...comparison } = made;
    return { reply: { comparison, byJoints: choice.kind === 'ruler' ? jointScale(made, choice) : null } };
  },
});
