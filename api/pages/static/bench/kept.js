// What is kept on this device: the day, and readings until they are sent. Nothing here needs a
// secure context: kitchens run on plain http.

const memory = new Map();

function store() {
  try {
    return window.localStorage;
  } catch {
    return null; // a browser that keeps nothing; the page then holds it as long as it is open
  }
}

export function kept(name) {
  const text = memory.get(name) ?? store()?.getItem(name) ?? null;
  try {
    return text === null ? null : JSON.parse(text);
  } catch {
    return null;
  }
}

export function keep(name, value) {
  const text = JSON.stringify(value);
  try {
    store().setItem(name, text);
    memory.delete(name);
  } catch {
    memory.set(name, text); // full, or forbidden
  }
}

export function drop(name) {
  memory.delete(name);
  store()?.removeItem(name);
}

function names() {
  const found = new Set(memory.keys());
  const storage = store();
  for (let i = 0; storage && i < storage.length; i += 1) found.add(storage.key(i));
  return [...found];
}

/** An id that nobody else makes: of this device, this moment, and chance. */
export function newId() {
  const chance = new Uint32Array(3);
  crypto.getRandomValues(chance);
  const letters = [...chance].map((one) => one.toString(36).padStart(7, "0")).join("");
  return `bench-${Date.now().toString(36)}-${letters}`;
}

let last = 0;

/** The entries of a bakery that wait, in the order in which they were written. */
export class Entries {
  constructor(bakery) {
    this.prefix = `ovenward/${bakery}/entry/`;
  }

  add(entry) {
    last = Math.max(last + 1, Date.now() * 1000);
    keep(this.prefix + entry.reading.id, { ...entry, order: last });
  }

  all() {
    const found = names().filter((name) => name.startsWith(this.prefix));
    return found.map(kept).filter(Boolean).sort((a, b) => a.order - b.order);
  }

  waiting() {
    return this.all().filter((one) => !one.refused);
  }

  refuse(id, reason) {
    const entry = kept(this.prefix + id);
    if (entry) keep(this.prefix + id, { ...entry, refused: reason });
  }

  drop(id) {
    drop(this.prefix + id);
  }
}

const MOST = 100;

/** Sends entries until each has been answered; a lost answer is asked for again by the same id. */
export class Sender {
  constructor(entries, address, onAnswer, onState) {
    Object.assign(this, { entries, address, onAnswer, onState });
    this.state = "idle";
    this.pause = 1000;
    this.busy = false;
    window.addEventListener("online", () => this.flush());
  }

  become(state) {
    if (this.state === state) return;
    this.state = state;
    this.onState(state);
  }

  async flush() {
    if (this.busy) return;
    this.busy = true;
    clearTimeout(this.timer);
    try {
      for (;;) {
        const waiting = this.entries.waiting();
        if (!waiting.length) {
          this.become("idle");
          return;
        }
        const plan = waiting[0].plan;
        const some = waiting.filter((one) => one.plan === plan).slice(0, MOST);
        if (!(await this.send(plan, some))) {
          this.timer = setTimeout(() => this.flush(), this.pause);
          this.pause = Math.min(this.pause * 2, 20000);
          return;
        }
        this.pause = 1000;
      }
    } finally {
      this.busy = false;
    }
  }

  /** Whether the entries have been answered, each for itself. */
  async send(plan, some) {
    const abort = new AbortController();
    const timer = setTimeout(() => abort.abort(), 12000);
    let answer;
    try {
      answer = await fetch(this.address(plan), {
        method: "POST",
        headers: { "Content-Type": "application/json", Accept: "application/json" },
        body: JSON.stringify({ readings: some.map((one) => one.reading) }),
        signal: abort.signal,
        redirect: "manual",
      });
      const told = answer.status === 200 ? await answer.json() : await answer.json().catch(() => null);
      return this.read(answer, told, some, plan);
    } catch {
      this.become("away");
      return false;
    } finally {
      clearTimeout(timer);
    }
  }

  async read(answer, told, some, plan) {
    if (answer.status === 401 || answer.status === 403 || answer.type === "opaqueredirect") {
      this.become("signed_out");
      return false;
    }
    if (answer.status >= 500 || answer.status === 429 || answer.status === 0) {
      this.become("away");
      return false;
    }
    if (answer.status === 200 && told) {
      for (const one of told.outcomes) {
        if (one.outcome === "refused") this.entries.refuse(one.id, one.reason);
        else this.entries.drop(one.id);
      }
      this.become("idle");
      this.onAnswer(told);
      return true;
    }
    // Refused as a whole: one by one, so that a bad one keeps no good one here.
    if (some.length > 1) {
      for (const one of some) if (!(await this.send(plan, [one]))) return false;
      return true;
    }
    this.entries.refuse(some[0].reading.id, told?.faults?.[0]?.problem ?? told?.detail ?? `${answer.status}`);
    this.onAnswer(null);
    return true;
  }
}
