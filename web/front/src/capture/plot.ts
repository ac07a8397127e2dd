/** One row of the picture: a channel's envelope, the capture beside it broken, marks and cursors over it. */
import uPlot from "uplot";
import { middles, side, type Envelope, type Speed } from "./envelope";

export interface Mark {
  kind: string;
  channel: string;
  start: number;
  end: number;
}

export interface Over {
  marks: Mark[];
  cursors: () => [number | null, number | null];
}

const inks = ["#0072b2", "#a34700", "#00734f", "#8c3a6b", "#1b6f9e", "#6b5300"];
const lightInks = ["#6cb9e8", "#f0a070", "#5cc9a0", "#e29ac8", "#8ec7e6", "#d9c067"];
export const dark = (): boolean => matchMedia("(prefers-color-scheme: dark)").matches;
const ink = (place: number): string => (dark() ? lightInks : inks)[place % inks.length] as string;

function colour(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

function axes(unit: string, last: boolean): uPlot.Axis[] {
  const stroke = colour("--ink");
  const grid = { stroke: colour("--faint"), width: 1 };
  const font = "14px Page, system-ui, sans-serif";
  const across: uPlot.Axis = { stroke, grid, ticks: grid, font, size: last ? 34 : 8 };
  if (!last) across.values = () => [];
  else across.values = (_plot, splits) => splits.map((split) => `${Number(split.toPrecision(9))} s`);
  const up: uPlot.Axis = { stroke, grid, ticks: grid, font, size: 86 };
  up.values = (_plot, splits) => splits.map((split) => engineering(split, unit));
  return [across, up];
}

/** Three figures with an SI prefix, as everywhere on the page. */
export function engineering(value: number, unit: string): string {
  if (!unit || unit === "1" || unit === "rpm") return `${Number(value.toPrecision(4))}${unit === "rpm" ? " rpm" : ""}`;
  if (Math.abs(value) < 1e-6) return `0 ${unit}`;
  const power = Math.min(9, Math.max(unit === "Ω" ? 0 : -6, 3 * Math.floor(Math.log10(Math.abs(value)) / 3)));
  const prefix = ({ [-6]: "µ", [-3]: "m", 0: "", 3: "k", 6: "M", 9: "G" } as Record<number, string>)[power];
  return `${Number((value / 10 ** power).toPrecision(4))} ${prefix}${unit}`;
}

function line(plot: uPlot, time: number, stroke: string, label: string, dash: number[]): void {
  const { left, top, height, width } = plot.bbox;
  const x = plot.valToPos(time, "x", true);
  if (x < left || x > left + width) return;
  const { ctx } = plot;
  ctx.save();
  ctx.strokeStyle = ctx.fillStyle = stroke;
  ctx.lineWidth = 1.5 * devicePixelRatio;
  ctx.setLineDash(dash.map((part) => part * devicePixelRatio));
  ctx.beginPath();
  ctx.moveTo(x, top);
  ctx.lineTo(x, top + height);
  ctx.stroke();
  ctx.font = `bold ${13 * devicePixelRatio}px Page, system-ui, sans-serif`;
  if (label) ctx.fillText(label, x + 4 * devicePixelRatio, top + 14 * devicePixelRatio);
  ctx.restore();
}

function drawOver(plot: uPlot, name: string, over: Over): void {
  const { ctx, bbox } = plot;
  const bad = colour("--bad");
  const { min, max } = plot.scales["x"] as { min: number; max: number };
  let named = -Infinity;
  let drawn = 0;
  for (const mark of over.marks) {
    if (mark.end < min || mark.start > max || !mark.channel.split(" + ").includes(name)) continue;
    if (drawn++ > 400) break; // closer than a pixel to one another
    const first = plot.valToPos(Math.max(mark.start, min), "x", true);
    const last = plot.valToPos(Math.min(mark.end, max), "x", true);
    if (last - first > 2) {
      ctx.save();
      ctx.fillStyle = bad;
      ctx.globalAlpha = 0.15;
      ctx.fillRect(first, bbox.top, last - first, bbox.height);
      ctx.restore();
    }
    const room = first - named > 90 * devicePixelRatio;
    line(plot, Math.max(mark.start, min), bad, room ? `▾ ${mark.kind}` : "▾", [4, 3]);
    if (room) named = first;
  }
  const [a, b] = over.cursors();
  if (a !== null) line(plot, a, colour("--focus"), "A", []);
  if (b !== null) line(plot, b, colour("--focus"), "B", [8, 4]);
}

function made(
  title: string,
  unit: string,
  width: number,
  last: boolean,
  series: uPlot.Series[],
  bands: uPlot.Band[],
  over: Over,
): uPlot.Options {
  return {
    title,
    width,
    height: 220 + (last ? 26 : 0),
    cursor: { drag: { x: false, y: false }, points: { show: false } },
    legend: { show: false },
    scales: { x: { time: false }, y: { auto: true } },
    axes: axes(unit, last),
    series: [{}, ...series],
    bands,
    hooks: { draw: [(plot) => drawOver(plot, title, over)] },
  };
}

/** A channel as least and most of columns; `joined` where there are fewer samples than columns. */
export class ChannelPlot {
  readonly plot: uPlot;

  constructor(place: HTMLElement, name: string, unit: string, number: number, width: number, last: boolean, over: Over, beside: boolean) {
    const stroke = ink(number);
    const edge = (): uPlot.Series => ({ stroke, width: 1.25, points: { show: false }, spanGaps: false });
    const broken = (): uPlot.Series => ({ stroke: colour("--ink"), width: 1.25, dash: [5, 4], points: { show: false }, spanGaps: true });
    const series = [edge(), edge(), ...(beside ? [broken(), broken()] : [])];
    const bands: uPlot.Band[] = [{ series: [2, 1], fill: stroke }];
    this.plot = new uPlot(made(name, unit, width, last, series, bands, over), [[], [], []], place);
  }

  /** Shows an envelope in the stretch from `begin` to `end`. */
  show(envelope: Envelope, place: number, begin: number, end: number, beside?: { envelope: Envelope; place: number; shift: number }): void {
    const values = envelope.channels[place] as Float32Array;
    const filled = known(values);
    const sparse = filled < envelope.columns / 2;
    const complete = filled === envelope.columns;
    for (const series of this.plot.series.slice(1, 3)) series.spanGaps = sparse;
    const rows: ArrayLike<number | null>[] = [side(values, 0, complete), side(values, 1, complete)];
    const times = middles(envelope);
    if (beside && this.plot.series.length > 3) {
      const other = beside.envelope.channels[beside.place] as Float32Array;
      // Both have the same columns: the one beside was asked for moved by the shift.
      rows.push(side(other, 0, false), side(other, 1, false));
    } else if (this.plot.series.length > 3) {
      rows.push(new Array<null>(envelope.columns).fill(null), new Array<null>(envelope.columns).fill(null));
    }
    this.plot.batch(() => {
      this.plot.setData([times, ...rows] as unknown as uPlot.AlignedData, false);
      this.plot.setScale("x", { min: begin, max: end });
    });
  }

  move(begin: number, end: number): void {
    this.plot.setScale("x", { min: begin, max: end });
  }
}

export class SpeedPlot {
  readonly plot: uPlot;

  constructor(place: HTMLElement, title: string, width: number, over: Over, speed: Speed) {
    const series: uPlot.Series[] = [{ stroke: colour("--act"), width: 1.75, points: { show: false } }];
    const rpm = Array.from(speed.speed, (turns) => 60 * turns);
    const data = [speed.times, rpm] as unknown as uPlot.AlignedData;
    this.plot = new uPlot(made(title, "rpm", width, true, series, [], over), data, place);
  }

  move(begin: number, end: number): void {
    this.plot.setScale("x", { min: begin, max: end });
  }
}

function known(values: Float32Array): number {
  let count = 0;
  for (let k = 0; k < values.length; k += 2) if (!Number.isNaN(values[k])) count++;
  return count;
}
