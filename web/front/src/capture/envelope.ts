/** Least and most of the columns of a stretch of time, as the server has them. */
export interface Envelope {
  begin: number;
  end: number;
  columns: number;
  /** For each channel that was asked for: least and most, column by column. */
  channels: Float32Array[];
}

export async function fetchEnvelope(
  address: string,
  channels: number[],
  begin: number,
  end: number,
  columns: number,
  signal: AbortSignal,
): Promise<Envelope> {
  const query = `channels=${channels.join(",")}&begin=${begin}&end=${end}&columns=${columns}`;
  const answer = await fetch(`${address}/envelope?${query}`, { signal, headers: { accept: "*/*" } });
  if (!answer.ok) throw new Error(`${answer.status}`);
  const numbers = new Float32Array(await answer.arrayBuffer());
  const parts = channels.map((_, k) => numbers.subarray(2 * columns * k, 2 * columns * (k + 1)));
  return { begin, end, columns, channels: parts };
}

/** Times of the columns' middles. */
export function middles(envelope: Envelope): Float64Array {
  const times = new Float64Array(envelope.columns);
  const width = (envelope.end - envelope.begin) / envelope.columns;
  for (let k = 0; k < times.length; k++) times[k] = envelope.begin + (k + 0.5) * width;
  return times;
}

/** One side of a channel's envelope as uPlot takes it, null where there is no sample. */
export function side(values: Float32Array, which: 0 | 1, complete: boolean): Float32Array | (number | null)[] {
  if (complete) {
    const all = new Float32Array(values.length / 2);
    for (let k = 0; k < all.length; k++) all[k] = values[2 * k + which] as number;
    return all;
  }
  const found = new Array<number | null>(values.length / 2);
  for (let k = 0; k < found.length; k++) {
    const value = values[2 * k + which] as number;
    found[k] = Number.isNaN(value) ? null : value;
  }
  return found;
}

export interface Speed {
  times: Float64Array;
  speed: Float64Array;
}

export async function fetchSpeed(address: string, channel: string): Promise<Speed> {
  const answer = await fetch(`${address}/speed?channel=${encodeURIComponent(channel)}`);
  if (!answer.ok) throw new Error(`${answer.status}`);
  const numbers = new Float64Array(await answer.arrayBuffer());
  return { times: numbers.subarray(0, numbers.length / 2), speed: numbers.subarray(numbers.length / 2) };
}
