import { lifts } from '../../../lifts/index.ts';
import type { OutgoingFile } from '../../../platforms/port.ts';
import { compareSets, latestAlike } from '../../../record/compare.ts';
import { measuredReps } from '../../../record/set-record.ts';
import { languageOf } from '../../../wording/index.ts';
import { dayOf, wordComparison, wordSpeed } from '../../../wording/record.ts';
import type { BotDeps } from '../../deps.ts';
import { privately, type UseCase } from '../use-case.ts';
import { chartName, pictureFile } from './drawn.ts';
import { historyOf, type PastSet } from './history.ts';

const id = 'my-lifts';
const { lifts: liftNames, member } = languageOf('en');
const mostClips = 500; // chosen: a year of five sets a week is about half of it
const mostCorrections = 3; // chosen: as many as one reply has
const mostSets = 5; // chosen: one message on a phone

/** One set in words: what was lifted, the time of each rep, the bar's speed. */
function setLine({ atMs, unit, set }: PastSet, { language }: Pick<BotDeps, 'language'>): string {
  const words = languageOf(language);
  return words.member.history.set({
    day: dayOf(atMs),
    lift: words.lifts[set.lift],
    loadText: set.loadKg === null ? null : words.card.load(set.loadKg, unit),
    repTimesS: set.reps.map(({ startS, endS }) => endS - startS),
    speed: wordSpeed(set, language, 'member').text,
  });
}

/** The newest set of which a speed was measured, with the one that it is compared with. */
function newestMeasured(sets: readonly PastSet[]): { now: PastSet; earlier: PastSet | null } | null {
  const at = sets.findIndex(({ set }) => measuredReps(set).length > 0);
  const now = sets[at];
  return now === undefined ? null : { now, earlier: latestAlike(now.set, sets.slice(at + 1)) };
}

/** A member's own history: takes, how many first ones were clean, what was corrected most, their sets with rep times and bar speed. */
export const myLifts: UseCase = {
  id,
  who: 'anyone',
  command: {
    name: id,
    description: member.history.description,
    fields: [
      {
        id: 'lift',
        label: member.history.lift,
        required: false,
        options: lifts.map((one) => ({ value: one.id, label: liftNames[one.id] })),
      },
    ],
  },
  async run({ deps, action, person }) {
    const { ledger, language } = deps;
    const words = languageOf(language);
    const said = words.member.history;
    const lift = lifts.find((one) => one.id === action.values.lift)?.id ?? null;
    const { statureCm } = await ledger.members.get(person.platform, person.id);
    const history = historyOf(await ledger.members.clips(person.platform, person.id, mostClips), statureCm, lift);
    const liftName = lift === null ? null : words.lifts[lift];
    if (history.takes === 0) return privately(said.nothing(liftName));
    const { sets } = history;
    const newest = newestMeasured(sets);
    const comparison = newest?.earlier ? compareSets(newest.now.set, newest.earlier.set) : null;
    const lines = [
      said.takes({ lift: liftName, takes: history.takes, ...history.firstTakes }),
      said.corrections(
        history.corrections.slice(0, mostCorrections).map(({ rule, clips }) => ({ name: words.ruleNames[rule] ?? rule, clips })),
      ),
      ...(sets.length === 0 ? [] : [said.setsHead(Math.min(sets.length, mostSets), sets.length)]),
      ...sets.slice(0, mostSets).map((one) => setLine(one, deps)),
      ...(newest?.earlier && comparison
        ? [
            said.compared(
              dayOf(newest.now.atMs),
              words.lifts[newest.now.set.lift],
              wordComparison(comparison, { ...newest.earlier, loadKg: newest.earlier.set.loadKg }, language).text,
            ),
          ]
        : []),
      ...(newest !== null && statureCm === null ? [said.setHeight] : []),
    ];
    return privately(lines.join('\n'), { files: newest === null ? [] : await chart(newest) });

    async function chart({ now, earlier }: NonNullable<typeof newest>): Promise<OutgoingFile[]> {
      const factor = comparison !== null && comparison.result !== 'cannot-tell' ? comparison.earlierFactor : 1;
      const beside = earlier === null ? null : { atMs: earlier.atMs, set: earlier.set, factor };
      try {
        const picture = deps.draw.speeds(now.set, beside);
        return [await pictureFile(picture, chartName(person), 'bar-speed.png', deps)];
      } catch (error) {
        deps.log.error({ error: String(error) }, 'a chart of bar speeds could not be drawn');
        return [];
      }
    }
  },
};
