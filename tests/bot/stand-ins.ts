import type { BotDeps } from '../../src/bot/deps.ts';
import { Judgement } from '../../src/judge/judgement.ts';

const toFix: Record<number, [rule: string, message: string][]> = {
  20: [['view', 'turn']],
  50: [
    ['orientation', 'sideways'],
    ['dead-time', 'tail'],
  ],
  60: [
    ['light', 'dark'],
    ['orientation', 'sideways'],
  ],
};

/**
 * Stands in for the judge: the clip's length says the verdict (20 s a view to fix, 30 s unsure, 40 s clean by trimming, 50 s a fix that our
 * cut cures, 60 s one that it does not, else clean). A coach's wish for another view makes the view of a squat right.
 */
export const judge: BotDeps['judge'] = (facts, request) => {
  const durationS = facts.clip.known ? facts.clip.value.durationS : 0;
  const isAsked = durationS === 20 && request?.lift === 'squat';
  const verdict = durationS in toFix && !isAsked ? 'fix' : durationS === 30 ? 'unsure' : 'clean';
  return Judgement.parse({
    verdict,
    lift: 'squat',
    findings: (isAsked ? [] : (toFix[durationS] ?? [])).map(([rule, message]) => ({
      rule,
      message,
      severity: 'fix',
      numbers: {},
    })),
    cannotTell: [],
    trim: durationS === 40 || durationS === 50 ? { startS: 2, endS: 6 } : null,
    cleanByTrim: durationS === 40,
    wanted: { azimuthDeg: 135, heightM: [1.5, 1.8], distanceM: [2, 4] },
  });
};

/** Stand in for all sentences: what they were asked to say. */
export const words: BotDeps['words'] = {
  reply: (j, _, o) => `reply ${j.verdict}${o.firstTime ? ' first' : ''}${o.trimmedAttached ? ' trimmed' : ''}`,
  better: (before, after) => `better ${before.findings.length} ${after.findings.length}`,
  error: (code) => `error ${code}`,
  uploadInstead: () => 'upload instead',
  waiting: ({ ahead, share }) => `waiting ${ahead} ${share}`,
  card: (j, _, o) => `card ${j.verdict} ${o.name} from ${o.startsAtS} ${o.threadUrl}`,
};

const png = Buffer.from('png');

/** Stand in for all pictures. */
export const draw: BotDeps['draw'] = {
  speeds: (set, earlier) => ({
    png,
    alt: `${set.reps.length} reps${earlier === null ? '' : ` beside ${earlier.set.reps.length}`}`,
  }),
  guide: (lift) => ({ png, alt: `how to film the ${lift.id} from ${lift.zones[0]?.aimDeg}` }),
  placement: () => ({ png, alt: 'where to stand' }),
  timeline: () => ({ png, alt: 'what to cut' }),
  sheet: (stills) => ({ png, alt: stills.map((s) => `${s.moment} ${s.widthPx}x${s.heightPx}`).join() }),
};
