import { known } from '../src/facts/fact.ts';
import { type Answer, Task } from '../src/queue/payload.ts';
import { ClipError } from './media/clip-error.ts';
import { readContainer } from './media/container.ts';
import { cutClip } from './media/cut.ts';
import { decodeFrames, type Frame, refuseDamaged } from './media/decode.ts';
import { writeStills } from './media/stills.ts';
import { loadPose } from './pose/engine.ts';
import { metered } from './pose/metered.ts';
import { isDoubtful, sampling, searchAside, searchLying } from './second-look.ts';
import { createBarFlow } from './stages/bar-flow.ts';
import { speedAllowed } from './stages/bar-speed.ts';
import { pitchOf } from './stages/camera-pitch.ts';
import { boxOf } from './stages/course.ts';
import { createCuts } from './stages/cuts.ts';
import { createLight } from './stages/light.ts';
import { createSpread } from './stages/lying-search.ts';
import { type Around, measurePeople } from './stages/measure.ts';
import { sharpnessLongSidePx, sharpnessOf } from './stages/sharpness.ts';
import { createSmallGray } from './stages/small-gray.ts';
import { createSteadiness } from './stages/steadiness.ts';
import { createWatch } from './stages/watch.ts';

/** The share of the work that is done when a stage begins; following people through the frames is most of it. */
const beganAt = {
  container: 0,
  models: 0.01,
  'decode-and-follow': 0.02,
  'look-closely': 0.9,
  search: 0.92,
  sharpness: 0.97,
} as const;
type Stage = keyof typeof beganAt;
/** A second search begins only in this first share of the time that a clip may take. */
const searchShare = 0.3;
/** Least progress that is worth a message. */
const progressStep = 0.05;

const engine = loadPose({ models: ['lite', 'heavy'] });
// a failed load is told by the first clip that needs it
engine.catch(() => {});

async function perform(task: Task, signal: AbortSignal): Promise<Answer> {
  const { id } = task;
  if (task.kind === 'cut') return { kind: 'written', id, paths: [task.out], bytes: await cutClip(task, signal) };
  if (task.kind === 'stills') return { kind: 'written', id, paths: await writeStills(task, signal), bytes: 0 };
  const beganMs = performance.now();
  const timings: Record<string, number> = {};
  const tell = (stage: string, share: number) => process.send?.({ kind: 'progress', id, share, stage } satisfies Answer);
  const timed = async <T>(stage: Stage, work: () => Promise<T>): Promise<T> => {
    tell(stage, beganAt[stage]);
    const startMs = performance.now();
    try {
      return await work();
    } finally {
      timings[stage] = (timings[stage] ?? 0) + (performance.now() - startMs) / 1000;
    }
  };
  const container = await timed('container', () => readContainer(task.file, task.limits, signal));
  const pose = metered(await timed('models', () => engine));
  const watch = createWatch(pose);
  const spread = createSpread();
  const [grayOf, steadiness, cuts, light] = [createSmallGray(), createSteadiness(), createCuts(), createLight()];
  const barFlow = createBarFlow();
  let told = 0;
  const look = async (frame: Frame) => {
    const share = Math.min(1, frame.timeS / container.facts.durationS);
    if (share >= told + progressStep) {
      told = share;
      const [from, to] = [beganAt['decode-and-follow'], beganAt['look-closely']];
      tell('decode-and-follow', from + (to - from) * share);
    }
    spread.push(frame);
    const people = await watch.push(frame);
    const gray = grayOf(frame);
    steadiness.push(gray, people.map(boxOf));
    cuts.push(gray);
    const main = people.find((person) => person.main);
    barFlow.push(gray, main);
    light.push(gray, main ? boxOf(main) : null);
  };
  const large: Frame[] = [];
  const keyFrames = {
    longSidePx: sharpnessLongSidePx(container.facts),
    max: 4,
    onFrame: (frame: Frame) => void large.push(frame),
  };
  const decode = () => decodeFrames(container, { ...sampling, keyFrames }, look, signal);
  refuseDamaged(await timed('decode-and-follow', decode), container);
  const path = steadiness.path();
  const pitchIn: Around['pitchIn'] = (fromS, toS) => pitchOf(large, fromS, toS, path);
  const around = { path, pitchIn };
  let facts = await timed('look-closely', () =>
    measurePeople(watch, known(container.facts), { ...around, flow: barFlow.path() }),
  );
  const isLate = () => performance.now() - beganMs > searchShare * 1000 * task.limits.timeoutS;
  const seen = { course: watch.course(), frames: spread.frames(), container, engine: pose, around, signal };
  if (isDoubtful(facts) && !isLate()) facts = await timed('search', () => searchLying(facts, seen));
  if (!facts.lift.known && !isLate()) facts = await timed('search', () => searchAside(facts, seen));
  facts.sharpness = await timed('sharpness', async () => sharpnessOf(large));
  facts.cuts = cuts.facts();
  const window = facts.liftWindow.known ? facts.liftWindow.value : undefined;
  facts.steadiness = steadiness.facts(window);
  facts.light = light.facts(window);
  facts.barSpeed = speedAllowed(facts);
  return { kind: 'facts', id, facts, timings, poseCpuS: pose.cpuS() };
}

const stopping = new AbortController();
// the process leads a group of its own, so it must end by itself when the bot is gone
process.on('disconnect', () => {
  stopping.abort(new Error('the bot is gone'));
  process.exit(0);
});
process.on('message', async (message) => {
  const task = Task.parse(message);
  const answer = await perform(task, stopping.signal).catch((error: unknown): Answer => {
    const { code, retry } = error instanceof ClipError ? error : { code: 'worker-died' as const, retry: true };
    return { kind: 'failed', id: task.id, code, detail: String(error), retry };
  });
  process.send?.(answer);
});
