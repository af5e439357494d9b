// Follows a bakery: the stream tells that something happened, and a question every minute tells
// whether the stream still speaks.

const TOLD = ["reading.taken", "plan.in_force", "plan.withdrawn", "plan.ready", "timer.due", "reading.wanted"];
const EVERY = 60000;
const GATHER = 250;

export class Follower {
  /** `ask` fetches what is shown; `isOurs` says whether an event is about what we sent ourselves. */
  constructor(root, bakery, ask, isOurs = () => false) {
    this.address = `${root}/api/v1/bakeries/${encodeURIComponent(bakery)}/events/stream`;
    this.ask = ask;
    this.isOurs = isOurs;
    setInterval(() => this.ask(), EVERY);
    window.addEventListener("online", () => this.soon());
    document.addEventListener("visibilitychange", () => document.hidden || this.soon());
    this.open();
  }

  open() {
    this.stream = new EventSource(this.address);
    const heard = (event) => {
      if (!this.isOurs(JSON.parse(event.data))) this.soon();
    };
    for (const kind of TOLD) this.stream.addEventListener(`ovenward.${kind}`, heard);
    this.stream.addEventListener("restarted", () => this.soon());
    this.stream.addEventListener("error", () => {
      if (this.stream.readyState !== EventSource.CLOSED) return; // it connects again by itself
      clearTimeout(this.again);
      this.again = setTimeout(() => this.open(), 15000);
    });
  }

  soon() {
    clearTimeout(this.gathered);
    this.gathered = setTimeout(() => this.ask(), GATHER);
  }
}
