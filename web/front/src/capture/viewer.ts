/** Pan and zoom over a recording of any length: what is there already is moved at once, what is finer is fetched. */
import { fetchEnvelope, fetchSpeed, type Envelope } from "./envelope";
import { ChannelPlot, SpeedPlot, engineering, type Mark, type Over } from "./plot";

interface View {
  address: string;
  span: [number, number];
  channels: { name: string; unit: string }[];
  beside: string;
  counterparts: (number | null)[];
}

interface Words {
  speed: string;
  label: string;
}

const around = 0.5; // widths fetched on either side of what is shown, so that moving shows something at once
const perPixel = 2; // columns fetched for each pixel, so that the next turn of the wheel is drawn from what is there
const mostColumns = 12_000;
const leastWidth = 1e-8;

export class Viewer {
  private readonly view: View;
  private readonly words: Words;
  private readonly shown: number[];
  private readonly shift: number;
  private readonly rows: ChannelPlot[] = [];
  private readonly speeds: SpeedPlot[] = [];
  private readonly marks: Mark[] = [];
  private learnt = "";
  private drawn = false;
  private known: Envelope | undefined;
  private readonly stage: HTMLElement;
  private readonly cursors: [number | null, number | null];
  private begin: number;
  private end: number;
  private asking = new AbortController();
  private asked = 0;
  private telling: ReturnType<typeof setTimeout> | undefined;
  private zooming = 0; // when the wheel was turned that the next picture answers

  constructor(place: HTMLElement) {
    this.view = JSON.parse(place.dataset["view"] ?? "{}") as View;
    this.words = JSON.parse(place.dataset["words"] ?? "{}") as Words;
    this.shown = (place.dataset["shown"] ?? "").split(",").filter(Boolean).map(Number);
    this.shift = Number(place.dataset["shift"] ?? 0);
    this.begin = Number(place.dataset["begin"]);
    this.end = Number(place.dataset["end"]);
    this.cursors = [typedTime("a"), typedTime("b")];
    this.stage = document.createElement("div");
    this.stage.className = "stage";
    this.stage.tabIndex = 0;
    this.stage.setAttribute("role", "application");
    this.stage.setAttribute("aria-label", this.words.label);
    place.replaceChildren(this.stage);
    this.build();
    this.listen();
    void this.fetch();
  }

  /** Takes in what was found: marks are drawn at once, the speed of a wheel in a row of its own. */
  learn(found: string): void {
    if (found === this.learnt) return;
    this.learnt = found;
    const { marks, speeds } = JSON.parse(found) as { marks: Mark[]; speeds: string[] };
    this.marks.splice(0, this.marks.length, ...marks);
    this.takeMarkLinks();
    this.redraw();
    void this.showSpeeds(speeds);
  }

  private get over(): Over {
    return { marks: this.marks, cursors: () => this.cursors };
  }

  private get width(): number {
    return Math.max(280, this.stage.clientWidth);
  }

  private build(): void {
    this.shown.forEach((channel, k) => {
      const { name, unit } = this.view.channels[channel] as View["channels"][number];
      const beside = this.view.beside !== "" && this.view.counterparts[channel] !== null;
      const last = k === this.shown.length - 1;
      this.rows.push(new ChannelPlot(this.stage, name, unit, k, this.width, last, this.over, beside));
    });
  }

  private async showSpeeds(names: string[]): Promise<void> {
    for (const name of names.slice(this.speeds.length)) {
      const speed = await fetchSpeed(this.view.address, name);
      const over: Over = { marks: [], cursors: () => this.cursors };
      const plot = new SpeedPlot(this.stage, `${name}: ${this.words.speed}`, this.width, over, speed);
      plot.move(this.begin, this.end);
      this.speeds.push(plot);
    }
  }

  /** Shows another stretch: what is known at once, then what the server has of it. */
  go(begin: number, end: number): void {
    const [first, last] = this.view.span;
    const whole = last - first;
    const width = Math.min(Math.max(end - begin, leastWidth), 1.2 * whole);
    const middle = Math.min(Math.max((begin + end) / 2, first), last);
    this.begin = middle - width / 2;
    this.end = middle + width / 2;
    for (const row of [...this.rows, ...this.speeds]) row.move(this.begin, this.end);
    const turned = this.zooming;
    this.zooming = 0;
    const complete = this.complete();
    if (turned && complete) painted(turned);
    void this.fetch(complete ? 0 : turned);
  }

  /** Whether what is there already fills every pixel of the picture with the exact extremes of its samples. */
  private complete(): boolean {
    const known = this.known;
    if (!known || this.begin < known.begin || this.end > known.end) return false;
    const columns = (known.columns * (this.end - this.begin)) / (known.end - known.begin);
    return columns >= this.width * devicePixelRatio;
  }

  private async fetch(turned = 0): Promise<void> {
    this.asking.abort();
    this.asking = new AbortController();
    const number = ++this.asked;
    const width = this.end - this.begin;
    const first = this.begin - around * width;
    const last = this.end + around * width;
    const columns = Math.min(mostColumns, Math.round(perPixel * this.width * devicePixelRatio * (1 + 2 * around)));
    try {
      const [own, other] = await Promise.all([
        fetchEnvelope(this.view.address, this.shown, first, last, columns, this.asking.signal),
        this.fetchBeside(first, last, columns),
      ]);
      if (number !== this.asked) return;
      this.draw(own, other);
      if (turned) painted(turned);
      this.tell();
    } catch (error) {
      if (!(error instanceof DOMException && error.name === "AbortError")) throw error;
    }
  }

  private async fetchBeside(first: number, last: number, columns: number): Promise<Envelope | null> {
    const wanted = this.shown.map((channel) => this.view.counterparts[channel]).filter((k): k is number => k !== null && k !== undefined);
    if (!this.view.beside || wanted.length === 0) return null;
    return fetchEnvelope(this.view.beside, wanted, first - this.shift, last - this.shift, columns, this.asking.signal);
  }

  private draw(own: Envelope, other: Envelope | null): void {
    let place = 0;
    this.drawn = true;
    this.known = own;
    this.rows.forEach((row, k) => {
      const paired = this.view.counterparts[this.shown[k] as number];
      const beside = other && paired !== null && paired !== undefined ? { envelope: other, place: place++, shift: this.shift } : undefined;
      row.show(own, k, this.begin, this.end, beside);
    });
  }

  private redraw(): void {
    if (!this.drawn) return;
    for (const row of [...this.rows, ...this.speeds]) row.plot.redraw(false);
  }

  /** Keeps the address and the words in step with what is shown, so that a reload shows the same; once it rests. */
  private tell(): void {
    clearTimeout(this.telling);
    this.telling = setTimeout(() => this.told(), 120);
  }

  private told(): void {
    const query = new URLSearchParams(location.search);
    query.set("begin", String(this.begin));
    query.set("end", String(this.end));
    history.replaceState(history.state, "", `${location.pathname}?${query}`);
    const said = document.getElementById("stretch");
    if (said) said.textContent = `${engineering(this.begin, "s")} – ${engineering(this.end, "s")}`;
    for (const field of document.querySelectorAll<HTMLInputElement>("input[name=begin]")) field.value = String(this.begin);
    for (const field of document.querySelectorAll<HTMLInputElement>("input[name=end]")) field.value = String(this.end);
  }

  private timeAt(clientX: number): number | null {
    const row = this.rows[0];
    if (!row) return null;
    const box = row.plot.over.getBoundingClientRect();
    return row.plot.posToVal(clientX - box.left, "x");
  }

  private zoom(factor: number, about: number): void {
    this.go(about - (about - this.begin) * factor, about + (this.end - about) * factor);
  }

  private listen(): void {
    this.stage.addEventListener("wheel", (event) => this.turn(event), { passive: false });
    this.stage.addEventListener("keydown", (event) => this.key(event));
    this.drag();
    this.take("a[data-act]");
    document.getElementById("cursors")?.addEventListener("submit", (event) => {
      event.preventDefault();
      this.cursors.splice(0, 2, typedTime("a"), typedTime("b"));
      this.read();
    });
    new ResizeObserver(() => {
      for (const row of [...this.rows, ...this.speeds]) {
        if (row.plot.width !== this.width) row.plot.setSize({ width: this.width, height: row.plot.height });
      }
    }).observe(this.stage);
  }

  private takeMarkLinks(): void {
    this.take("a[data-begin]");
  }

  /** Lets links that lead to another stretch move the picture instead of loading the page anew. */
  private take(which: string): void {
    document.querySelectorAll<HTMLAnchorElement>(which).forEach((link) => {
      if (link.dataset["taken"]) return;
      link.dataset["taken"] = "yes";
      link.addEventListener("click", (event) => {
        event.preventDefault();
        this.act(link);
      });
    });
  }

  private turn(event: WheelEvent): void {
    const about = this.timeAt(event.clientX);
    if (about === null) return;
    event.preventDefault();
    this.zooming = event.timeStamp;
    if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      const move = ((this.end - this.begin) * event.deltaX) / this.width;
      this.go(this.begin + move, this.end + move);
    } else this.zoom(1.0015 ** event.deltaY, about);
  }

  private key(event: KeyboardEvent): void {
    const width = this.end - this.begin;
    const moves: Record<string, () => void> = {
      ArrowLeft: () => this.go(this.begin - width / 4, this.end - width / 4),
      ArrowRight: () => this.go(this.begin + width / 4, this.end + width / 4),
      "+": () => this.zoom(0.5, (this.begin + this.end) / 2),
      "-": () => this.zoom(2, (this.begin + this.end) / 2),
      Home: () => this.go(...this.view.span),
      a: () => this.put(0, (this.begin + this.end) / 2),
      b: () => this.put(1, (this.begin + this.end) / 2),
    };
    const move = event.ctrlKey || event.metaKey || event.altKey ? undefined : moves[event.key];
    if (!move) return;
    event.preventDefault();
    move();
  }

  private act(link: HTMLAnchorElement): void {
    const width = this.end - this.begin;
    const middle = (this.begin + this.end) / 2;
    if (link.dataset["begin"]) {
      this.go(Number(link.dataset["begin"]), Number(link.dataset["end"]));
      this.stage.scrollIntoView({ block: "nearest" });
      return;
    }
    const acts: Record<string, () => void> = {
      in: () => this.zoom(0.5, middle),
      out: () => this.zoom(2, middle),
      left: () => this.go(this.begin - width / 2, this.end - width / 2),
      right: () => this.go(this.begin + width / 2, this.end + width / 2),
      all: () => this.go(...this.view.span),
    };
    acts[link.dataset["act"] ?? ""]?.();
  }

  /** One finger or the mouse moves, two fingers zoom, a click puts a cursor. */
  private drag(): void {
    const fingers = new Map<number, number>();
    let from = { begin: this.begin, end: this.end, moved: 0 };
    const start = (): void => {
      from = { begin: this.begin, end: this.end, moved: from.moved };
    };
    let origin: number[] = [];
    this.stage.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      if (fingers.size === 0) from.moved = 0;
      fingers.set(event.pointerId, event.clientX);
      origin = [...fingers.values()];
      start();
    });
    this.stage.addEventListener("pointermove", (event) => {
      if (!fingers.has(event.pointerId)) return;
      fingers.set(event.pointerId, event.clientX);
      from.moved = Math.max(from.moved, Math.abs(event.clientX - (origin[0] ?? event.clientX)));
      if (from.moved < 4) return;
      this.stage.setPointerCapture(event.pointerId);
      const now = [...fingers.values()];
      const second = (from.end - from.begin) / this.width;
      if (now.length === 1) {
        const move = ((origin[0] as number) - (now[0] as number)) * second;
        this.go(from.begin + move, from.end + move);
      } else {
        const factor = Math.abs((origin[0] as number) - (origin[1] as number)) / Math.max(20, Math.abs((now[0] as number) - (now[1] as number)));
        const middle = (from.begin + from.end) / 2;
        this.go(middle - (middle - from.begin) * factor, middle + (from.end - middle) * factor);
      }
    });
    const stop = (event: PointerEvent): void => {
      if (!fingers.delete(event.pointerId)) return;
      const time = this.timeAt(event.clientX);
      if (event.type === "pointerup" && from.moved < 4 && time !== null) this.put(event.shiftKey ? 1 : 0, time);
      origin = [...fingers.values()];
      start();
    };
    this.stage.addEventListener("pointerup", stop);
    this.stage.addEventListener("pointercancel", stop);
  }

  private put(which: 0 | 1, time: number): void {
    this.cursors[which] = time;
    const field = document.getElementById(which ? "b" : "a");
    if (field instanceof HTMLInputElement) field.value = String(Number(time.toPrecision(9)));
    this.read();
  }

  private async read(): Promise<void> {
    this.redraw();
    const query = new URLSearchParams({ channels: this.shown.join(",") });
    this.cursors.forEach((time, k) => time !== null && query.set(k ? "b" : "a", String(time)));
    const answer = await fetch(`${this.view.address}/values?${query}`);
    const place = document.getElementById("values");
    if (answer.ok && place) place.outerHTML = await answer.text();
  }
}

function typedTime(name: string): number | null {
  const field = document.getElementById(name);
  const text = field instanceof HTMLInputElement ? field.value.trim().replace(",", ".") : "";
  const time = Number(text);
  return text && Number.isFinite(time) ? time : null;
}

/** Notes how long it took from a turn of the wheel until its picture was on the screen. */
function painted(turned: number): void {
  requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = () => performance.measure("zoom-painted", { start: turned, end: performance.now() });
    channel.port2.postMessage(null);
  });
}
