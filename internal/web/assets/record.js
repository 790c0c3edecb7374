// Records sound in pieces of four seconds; each is kept on the phone as soon as it exists. The
// screen is kept awake while the ride's clock runs.

const pieceMs = 4000;
const kinds = ["audio/webm;codecs=opus", "audio/ogg;codecs=opus", "audio/mp4"];

export class Recorder {
  constructor(phone, ride, clock, changed) { Object.assign(this, { phone, ride, clock, changed, media: null, kept: Promise.resolve() }); }

  get on() { return this.media?.state === "recording"; }

  async start() {
    if (!navigator.mediaDevices || !globalThis.MediaRecorder) throw new Error("This browser cannot record sound here.");
    const stream = await navigator.mediaDevices.getUserMedia({ audio: { echoCancellation: false, noiseSuppression: true } });
    const mimeType = kinds.find((k) => MediaRecorder.isTypeSupported(k));
    this.media = new MediaRecorder(stream, { mimeType, audioBitsPerSecond: 48000 });
    this.from = this.clock.now();
    this.media.addEventListener("dataavailable", (e) => this.take(e.data));
    this.media.addEventListener("error", () => this.changed("Recording stopped: the microphone failed."));
    this.media.addEventListener("stop", () => { for (const t of stream.getTracks()) t.stop(); this.changed(""); });
    for (const t of stream.getTracks()) t.addEventListener("ended", () => this.changed("Recording stopped: the microphone went away."));
    this.media.start(pieceMs);
    this.changed("");
  }

  // take keeps a piece; pieces are kept one after the other, in order.
  take(data) {
    const at = this.from;
    this.from = this.clock.now();
    if (!data.size) return;
    this.kept = this.kept.then(async () => {
      const bytes = await data.arrayBuffer();
      await this.phone.keepPiece(this.ride, { at_s: Math.max(0, Math.round(at * 1000) / 1000), media: data.type || this.media.mimeType, bytes });
      this.changed("");
    }).catch((fault) => this.changed("A piece of sound could not be kept: " + fault.message));
  }

  // flush keeps what has been recorded up to now, before the page may be put away.
  flush() { if (this.on) this.media.requestData(); }

  async stop() {
    if (this.on) {
      const ended = new Promise((done) => this.media.addEventListener("stop", done, { once: true }));
      this.media.stop();
      await ended;
    }
    await this.kept;
  }
}

// Awake keeps the screen on while wanted, also after the page was away.
export class Awake {
  constructor() {
    this.want = false;
    document.addEventListener("visibilitychange", () => { if (this.want && !document.hidden) this.lock(); });
  }
  async lock() {
    try { this.held = await navigator.wakeLock?.request("screen"); } catch { /* battery saver: the screen may sleep, notes do not care */ }
  }
  keep(want) {
    if (want === this.want) return;
    this.want = want;
    if (want) this.lock();
    else this.held?.release?.();
  }
}
