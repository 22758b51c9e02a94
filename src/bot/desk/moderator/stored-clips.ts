import { Judgement } from '../../../judge/judgement.ts';
import type { ArchivedClip, Ledger } from '../../../ledger/port.ts';
import type { JudgedClip } from '../../../moderation/judged-clip.ts';
import type { Effect } from '../../../moderation/rejudge.ts';
import type { ReportedClip } from '../../../moderation/week.ts';
import { ViewRequest } from '../../../rules/request.ts';
import type { ClipSaid, EffectSaid } from '../../../wording/moderator-words.ts';

const mostShown = 8; // chosen: enough to look into, and one message

/** Stored clips to judge again, with their archived selves by id. */
export interface StoredClips {
  clips: JudgedClip[];
  byId: Map<string, ArchivedClip>;
  /** Clips that had to be left out. */
  unreadable: number;
}

/** A clip as it can be judged again; null when its request is of no kind that is known. */
function judgedClipOf({ id, facts, request, evidence, desk }: ArchivedClip): JudgedClip | null {
  const asked = request === null ? null : ViewRequest.safeParse(request);
  if (asked !== null && !asked.success) return null;
  return { id, facts, request: asked?.data ?? null, words: evidence.map(({ kind, rule }) => ({ kind, rule })), desk };
}

/** The last `last` clips that were judged, of all platforms, since the rules are one for all. */
export async function storedClips({ archive }: Pick<Ledger, 'archive'>, last: number): Promise<StoredClips> {
  const found = await archive.judged({ last });
  const clips = found.clips.map(judgedClipOf).filter((clip) => clip !== null);
  return {
    clips,
    byId: new Map(found.clips.map((clip) => [clip.id, clip])),
    unreadable: found.unreadable + found.clips.length - clips.length,
  };
}

/** Clips of a platform and a time, as they were judged then, oldest first. */
export async function reportedClips(
  { archive }: Pick<Ledger, 'archive'>,
  which: { platform: string; fromMs: number; toMs: number },
): Promise<ReportedClip[]> {
  const { clips } = await archive.judged(which);
  return clips.flatMap((clip): ReportedClip[] => {
    const judgement = Judgement.safeParse(clip.judgement);
    if (!judgement.success) return [];
    const { id, root, authorId, authorName, createdMs, answeredMs, desk } = clip;
    const durationS = clip.facts.clip.known ? clip.facts.clip.value.durationS : null;
    const words = clip.evidence.map(({ kind, rule }) => ({ kind, rule }));
    return [{ id, root, authorId, authorName, createdMs, answeredMs, desk, durationS, words, judgement: judgement.data }];
  });
}

/** An effect with the clips that flip: `linkOf` gives null for clips that are not to be named. */
export function effectSaid(
  { clips, flips, otherWords, known }: Effect,
  { byId, unreadable }: Omit<StoredClips, 'clips'>,
  linkOf: (clip: ArchivedClip) => { url: string | null } | null,
): EffectSaid {
  const saidOf = (id: string): ClipSaid[] => {
    const clip = byId.get(id);
    const link = clip === undefined ? null : linkOf(clip);
    if (clip === undefined || link === null) return [];
    const lift = Judgement.safeParse(clip.judgement).data?.lift ?? null;
    return [{ name: clip.authorName, lift, atMs: clip.createdMs, url: link.url }];
  };
  return {
    clips,
    unreadable,
    // The newest are remembered best.
    flips: flips.map(({ from, to, ids }) => ({
      ...{ from, to, clips: ids.length },
      shown: ids.toReversed().flatMap(saidOf).slice(0, mostShown),
    })),
    otherWords: otherWords.length,
    known: { ...known, mended: known.mended.length, spoilt: known.spoilt.length },
  };
}
