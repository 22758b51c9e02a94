import { Counter, Gauge, Histogram, Registry } from 'prom-client';

/** What is counted; all names begin with `quarterview_`. */
export interface Metrics {
  received(): void;
  judged(verdict: string, findings: readonly { rule: string; severity: string }[], secondsByStage: Record<string, number>): void;
  failed(code: string): void;
  /** Something is tried again: `act`, `step` of a submission, or `measuring`. */
  retried(what: 'act' | 'step' | 'measuring'): void;
  /** Seconds from receiving a clip to its answer standing in the thread. */
  answered(afterS: number): void;
  /** Asked for each time the metrics are read. */
  watchQueue(depth: () => { waiting: number; running: number }): void;
  watchPlatforms(conditions: () => Readonly<Partial<Record<string, { state: (typeof platformStates)[number] }>>>): void;
  readonly contentType: string;
  text(): Promise<string>;
}

const stageS = [0.01, 0.03, 0.1, 0.3, 1, 3, 10, 30, 100]; // chosen: two a decade, up to the limit of one clip
const platformStates = ['starting', 'up', 'unreachable', 'refused'] as const;
const answerS = [1, 2, 5, 10, 20, 30, 60, 120, 300, 900, 3600]; // chosen: the seconds of a mark up to an hour of flood

/** Counters of their own registry, so that several bots in one process (tests) do not mix. */
export function createMetrics(): Metrics {
  const registry = new Registry();
  const registers = [registry];
  const of = (name: string, help: string) => ({ name: `quarterview_${name}`, help, registers });
  const received = new Counter(of('clips_received_total', 'Clips taken in.'));
  const judged = new Counter({ ...of('clips_judged_total', 'Clips judged, by verdict.'), labelNames: ['verdict'] });
  const findings = new Counter({
    ...of('findings_total', 'Findings in judged clips, by rule.'),
    labelNames: ['rule', 'severity'],
  });
  const failed = new Counter({ ...of('clips_failed_total', 'Clips that could not be judged, by code.'), labelNames: ['code'] });
  const retries = new Counter({ ...of('retries_total', 'Tries after the first.'), labelNames: ['what'] });
  const stages = new Histogram({
    ...of('stage_seconds', 'Seconds of measuring a clip, by stage.'),
    labelNames: ['stage'],
    buckets: stageS,
  });
  const answers = new Histogram({ ...of('answer_seconds', 'Seconds from receiving a clip to its answer.'), buckets: answerS });
  return {
    received: () => received.inc(),
    judged(verdict, found, secondsByStage) {
      judged.inc({ verdict });
      for (const { rule, severity } of found) findings.inc({ rule, severity });
      for (const [stage, s] of Object.entries(secondsByStage)) stages.observe({ stage }, s);
    },
    failed: (code) => failed.inc({ code }),
    retried: (what) => retries.inc({ what }),
    answered: (afterS) => answers.observe(afterS),
    watchQueue(depth) {
      new Gauge({
        ...of('queue_depth', 'Clips in the queue.'),
        labelNames: ['state'],
        collect() {
          for (const [state, count] of Object.entries(depth())) this.set({ state }, count);
        },
      });
    },
    watchPlatforms(conditions) {
      new Gauge({
        ...of('platform_state', '1 for the state that a platform is in, 0 for the others.'),
        labelNames: ['platform', 'state'],
        collect() {
          for (const [platform, condition] of Object.entries(conditions()))
            for (const state of platformStates) this.set({ platform, state }, condition?.state === state ? 1 : 0);
        },
      });
    },
    contentType: registry.contentType,
    text: () => registry.metrics(),
  };
}
