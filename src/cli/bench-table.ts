/** Wall and CPU seconds of a piece of work, programs that it starts included. */
export interface Cost {
  wallS: number;
  cpuS: number;
}

/** What one clip costs: decoding it alone, measuring it (all, and the pose models' CPU in it), and what goes with the answer. */
export interface ClipCosts {
  decode: Cost;
  measure: Cost;
  poseCpuS: number;
  pictures: Cost;
  trim: Cost;
  peakRssMb: number;
}

/** One clip of the bench: the medians of its runs. `plainCpuS`: what the heavy model takes on every frame, without decoding. */
export interface BenchRow extends ClipCosts {
  name: string;
  lengthS: number;
  mbitPerS: number;
  plainCpuS: number;
}

const median = (values: readonly number[]) => values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;

/** The median of each cost, and the greatest memory, of the runs of a clip; NaN without runs. */
export function middleOf(runs: readonly ClipCosts[]): ClipCosts {
  const cost = (of: (run: ClipCosts) => Cost): Cost => ({
    wallS: median(runs.map((run) => of(run).wallS)),
    cpuS: median(runs.map((run) => of(run).cpuS)),
  });
  return {
    decode: cost((run) => run.decode),
    measure: cost((run) => run.measure),
    poseCpuS: median(runs.map((run) => run.poseCpuS)),
    pictures: cost((run) => run.pictures),
    trim: cost((run) => run.trim),
    peakRssMb: Math.max(...runs.map((run) => run.peakRssMb)),
  };
}

/**
 * CPU of a row's parts in seconds, and as multiples of decoding alone. `other` is all of measuring but decoding and pose: taking frames over,
 * the other stages. `plain` decodes and runs the heavy model; `plainTimes` is how often a measurement goes into it.
 */
export function sharesOf({ decode, measure, poseCpuS, plainCpuS, pictures, trim, lengthS }: BenchRow) {
  const times = (cpuS: number) => cpuS / decode.cpuS;
  const otherCpuS = measure.cpuS - decode.cpuS - poseCpuS;
  return {
    measure: times(measure.cpuS),
    pose: times(poseCpuS),
    otherCpuS,
    other: times(otherCpuS),
    pictures: times(pictures.cpuS),
    trim: times(trim.cpuS),
    plainCpuS: decode.cpuS + plainCpuS,
    plainTimes: (decode.cpuS + plainCpuS) / measure.cpuS,
    cpuPerClipS: measure.cpuS / lengthS,
  };
}

/** The rows as a text table, a column for each clip. */
export function benchTable(rows: readonly BenchRow[]): string {
  const s = (value: number) => `${value.toFixed(2)} s`;
  const part = (cpuS: number, times: number) => `${s(cpuS)} ${times.toFixed(2).padStart(6)}`;
  const lines: [string, (row: BenchRow, of: ReturnType<typeof sharesOf>) => string][] = [
    ['', (row) => row.name],
    ['bit rate', (row) => `${row.mbitPerS.toFixed(1)} Mbit/s`],
    ['decoding alone, CPU; as multiples', (row) => part(row.decode.cpuS, 1)],
    ['measuring, CPU', (row, of) => part(row.measure.cpuS, of.measure)],
    ['  of it pose', (row, of) => part(row.poseCpuS, of.pose)],
    ['  of it other measuring', (_, of) => part(of.otherCpuS, of.other)],
    ['pictures, CPU', (row, of) => part(row.pictures.cpuS, of.pictures)],
    ['trim, CPU', (row, of) => part(row.trim.cpuS, of.trim)],
    ['measuring, CPU for a second of the clip', (_, of) => s(of.cpuPerClipS)],
    ['heavy model on every frame, CPU; that : measuring', (_, of) => part(of.plainCpuS, of.plainTimes)],
    ['measuring, wall', (row) => s(row.measure.wallS)],
    ['peak memory (RSS, with ffmpeg)', (row) => `${Math.round(row.peakRssMb)} MB`],
  ];
  const cells = lines.map(([head, show]) => [head, ...rows.map((row) => show(row, sharesOf(row)))]);
  const widths = cells[0]!.map((_, i) => Math.max(...cells.map((row) => row[i]!.length)));
  return cells
    .map((row) => row.map((cell, i) => (i === 0 ? cell.padEnd(widths[i]!) : cell.padStart(widths[i]!))).join('  '))
    .join('\n');
}
