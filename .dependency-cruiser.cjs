/** Import rules. Left knows nothing of the right: facts, lifts, rules, judge, wording and pictures. Leaves meet only in src/main.ts. */
const pure = '^src/(facts|captions|lifts|rules|judge|wording|pictures|record|moderation)/';
module.exports = {
  forbidden: [
    { name: 'no-circular', comment: 'A cycle hides which module owns what.', severity: 'error', from: {}, to: { circular: true, viaOnly: { dependencyTypesNot: ['type-only'] } } },
    { name: 'facts-stand-alone', comment: 'The contract between worker and bot depends on nothing of ours.', severity: 'error', from: { path: '^src/facts/' }, to: { path: '^(src|workers)/', pathNot: '^src/facts/' } },
    { name: 'lifts-see-facts', comment: 'Lifts are data.', severity: 'error', from: { path: '^src/lifts/' }, to: { path: '^(src|workers)/', pathNot: '^src/(facts|lifts)/' } },
    { name: 'rules-see-lifts', comment: 'A rule reads facts and lift data only.', severity: 'error', from: { path: '^src/rules/' }, to: { path: '^(src|workers)/', pathNot: '^src/(facts|lifts|rules)/' } },
    { name: 'judge-sees-rules', comment: 'Judging never words or draws.', severity: 'error', from: { path: '^src/judge/' }, to: { path: '^(src|workers)/', pathNot: '^src/(facts|lifts|rules|judge)/' } },
    { name: 'moderation-sees-judge', comment: 'Judging stored clips again is arithmetic over facts, rules and judge; words are put to it later.', severity: 'error', from: { path: '^src/moderation/' }, to: { path: '^(src|workers)/', pathNot: '^src/(facts|lifts|rules|judge|moderation)/' } },
    { name: 'pure-no-io', comment: 'Judging over stored facts must be repeatable: no I/O in the pure folders.', severity: 'error', from: { path: pure, pathNot: '^src/pictures/' }, to: { dependencyTypes: ['core'], pathNot: '^(assert|url)$' } },
    { name: 'pure-stay-pure', comment: 'Pure folders never see adapters, use cases or the worker.', severity: 'error', from: { path: pure }, to: { path: '^(src/(platforms|queue|ledger|bot|cli|settings|main)|workers)' } },
    { name: 'leaves-apart', comment: 'An adapter only transports; it knows its own port, the facts and settings types.', severity: 'error', from: { path: '^src/(platforms|queue|ledger)/' }, to: { path: '^(src|workers)/', pathNot: ['^src/$1/', '^src/(facts|settings)/', '^src/captions/'] } },
    { name: 'bot-sees-ports', comment: 'Use cases work against ports, so every platform, queue and database behaves alike.', severity: 'error', from: { path: '^src/bot/' }, to: { path: '^src/(platforms|queue|ledger)/', pathNot: '/(port|payload)\\.ts$' } },
    { name: 'bot-no-cli', comment: 'Use cases do not know commands.', severity: 'error', from: { path: '^src/bot/' }, to: { path: '^(src/(cli|main)|workers)' } },
    { name: 'workers-see-facts', comment: 'The measuring process holds no token and no opinion.', severity: 'error', from: { path: '^workers/' }, to: { path: '^src/', pathNot: '^src/(facts/|queue/payload\\.ts$)' } },
    { name: 'src-never-imports-workers', comment: 'Workers are started by path.', severity: 'error', from: { path: '^src/' }, to: { path: '^workers/' } },
    { name: 'programs-in-media', comment: 'One wrapper knows ffmpeg.', severity: 'error', from: { path: '^workers/', pathNot: '^workers/media/' }, to: { path: '^(node:)?child_process$' } },
  ],
  options: { tsPreCompilationDeps: true, tsConfig: { fileName: 'tsconfig.json' }, doNotFollow: { path: 'node_modules' }, exclude: { path: 'fixtures' }, enhancedResolveOptions: { exportsFields: ['exports'], conditionNames: ['import', 'require', 'node', 'default', 'types'] } },
};
