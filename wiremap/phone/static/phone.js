// The page on a phone: shows what the server made, sends what a thumb asked for until it was heard, rings, stays awake.
const at = (id) => document.getElementById(id);
const RINGS = { pass: 1, undecided: 2, fail: 3, "not-seated": 4, moved: 5 };
const AGAIN_S = 8; // nobody wants a test minutes later
const LASTING = ["keep", "label", "note"]; // these are meant whenever they come
const OLD_S = 5; // seconds without the tester after which a page is grey
const BUSY_S = 45; // while it measures
let now = { test: 0, phase: "", label: "" };
let heardAt = 0, testerAge = 0, rung = null, held = null, isDown = false, stream = null, armed = null, sound = null;

const say = (text) => {
  at("said").textContent = text;
  at("said").hidden = !text;
  clearTimeout(say.timer);
  say.timer = setTimeout(() => { at("said").hidden = true; }, 6000);
};
const newId = () => Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, "0")).join("");

// What waits to be heard: it outlives the page, and is sent again with the same id.
const outbox = {
  all: () => JSON.parse(localStorage.getItem("wishes") || "[]"),
  put: (list) => localStorage.setItem("wishes", JSON.stringify(list)),
  add(wish) { this.put([...this.all(), { ...wish, at: Date.now() }]); this.send(); },
  drop(id) { this.put(this.all().filter((wish) => wish.id !== id)); },
  async send() {
    if (this.busy) return;
    this.busy = true;
    try {
      for (const wish of this.all()) {
        if (!LASTING.includes(wish.what) && Date.now() - wish.at > AGAIN_S * 1000) {
          this.drop(wish.id);
          say("That was too late to be asked for: press it again.");
          continue;
        }
        const { at: pressed, ...body } = wish;
        body.age = Math.min(86400, Math.max(0, (Date.now() - pressed) / 1000));
        const answer = await fetch("/do", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) });
        if (answer.status === 503 || answer.status === 429) break;
        this.drop(wish.id);
        say(answer.ok ? (await answer.json()).said : await answer.text());
      }
    } catch { /* no connection: it waits */ } finally { this.busy = false; }
  },
};
const ask = (what, words = []) => outbox.add({ id: newId(), what, test: now.test, words });

const photos = [];
async function sendPhotos() {
  if (sendPhotos.busy) return;
  sendPhotos.busy = true;
  try {
    while (photos.length) {
      const { id, test, blob } = photos[0];
      const answer = await fetch(`/photo?test=${test}&id=${id}`, { method: "POST", headers: { "content-type": "image/jpeg" }, body: blob });
      if (answer.status === 503 || answer.status === 429) break;
      photos.shift();
      say(answer.ok ? (await answer.json()).said : await answer.text());
    }
  } catch { say(`${photos.length} photo waits for the connection. Leave this page open.`); } finally { sendPhotos.busy = false; }
}
// Drawn anew: upright, at most 2560 px, and without what the camera wrote into it, the position above all.
async function takePhoto(file) {
  const test = now.test;
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const scale = Math.min(1, 2560 / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(picture.width * scale);
  canvas.height = Math.round(picture.height * scale);
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
  photos.push({ id: newId(), test, blob });
  sendPhotos();
}

function paint(root) {
  for (const wire of root.querySelectorAll("[data-body]")) {
    const { body, stripe } = wire.dataset;
    wire.style.background = stripe ? `repeating-linear-gradient(90deg,${body} 0 9px,${stripe} 9px 14px)` : body;
  }
}
// A button that wants two taps; it stays so where the page is made anew and the button means the same.
function arm(button) {
  armed = button;
  button.classList.add("armed");
  button.textContent = `${button.dataset.arm}: tap again`;
}
function armAgain() {
  const { arm: says, words } = armed.dataset;
  const same = [...at("page").querySelectorAll("[data-arm]")].find((one) => one.dataset.arm === says && one.dataset.words === words);
  armed = null;
  if (same) arm(same);
}
function show(event) {
  if (isDown) { held = event; return; } // a button must not go from under a finger
  const isNew = event.test !== now.test || event.step !== now.step || event.ring?.id !== now.ring?.id;
  now = event;
  const open = document.activeElement?.dataset?.pick;
  at("page").innerHTML = event.html;
  paint(at("page"));
  if (armed) armAgain();
  if (isNew) scrollTo(0, 0); // what is new stands at the top
  if (open) at("page").querySelector(`[data-pick="${CSS.escape(open)}"]`)?.focus();
  at("bar").hidden = Boolean(event.lot); // a lot keeps by itself; its buttons are the page's own
  at("again").disabled = ["measuring", "lost", "starting"].includes(event.phase);
  at("keep").disabled = !event.test || event.kept;
  at("keep").textContent = event.kept ? "✓ Kept" : "Keep";
  at("snap").disabled = !event.test;
  const { id, kind } = event.ring;
  if (id !== rung) { if (rung !== null && RINGS[kind]) ring(RINGS[kind]); rung = id; sessionStorage.setItem("rung", id); }
}
function ring(times) {
  navigator.vibrate?.(Array.from({ length: 2 * times - 1 }, (_, k) => (k % 2 ? 150 : 250)));
  document.body.dataset.rings = Number(document.body.dataset.rings || 0) + 1;
  document.body.dataset.last = times;
  if (!sound) return;
  for (let k = 0; k < times; k += 1) {
    const tone = sound.createOscillator(), level = sound.createGain();
    const t = sound.currentTime + 0.3 * k;
    tone.frequency.value = times === 1 ? 880 : 440;
    level.gain.setValueAtTime(0.4, t);
    level.gain.exponentialRampToValueAtTime(0.001, t + 0.25);
    tone.connect(level).connect(sound.destination);
    tone.start(t);
    tone.stop(t + 0.26);
  }
}

// A stale page must never look fresh.
function watch() {
  const gap = (Date.now() - heardAt) / 1000;
  const old = testerAge + gap;
  const isGone = !heardAt || gap > 7;
  const isStale = isGone || old > (now.phase === "measuring" ? BUSY_S : OLD_S) || now.phase === "lost";
  document.body.classList.toggle("cold", isStale);
  at("stale").hidden = !isStale || !stream;
  if (isStale) at("stale").textContent = now.phase === "lost" && !isGone ? "The tester is not there: what stands below is old." : `${isGone ? "No connection to the laptop" : "The tester has not answered"} for ${Math.round(isGone ? gap : old)} s: what stands below is old.`;
}
async function listen() {
  if ((await fetch("/who").catch(() => ({ status: 0 }))).status === 401) { stranger("This phone is not known: scan the code on the laptop."); return; }
  stream?.close();
  stream = new EventSource("/live");
  const heard = () => { heardAt = Date.now(); watch(); };
  stream.addEventListener("page", (event) => { heard(); show(JSON.parse(event.data)); watch(); });
  stream.addEventListener("beat", (event) => { testerAge = JSON.parse(event.data).age; heard(); outbox.send(); if (photos.length) sendPhotos(); });
  stream.onerror = () => { if (stream.readyState === EventSource.CLOSED) setTimeout(listen, 2000); };
}
function stranger(text) { stream?.close(); stream = null; at("hello") ? (at("hello").textContent = text) : say(text); }

// The screen that stays on: a lock where the browser gives one, else a film that plays, else nothing.
const awakeWords = {
  lock: "The screen stays on (lock).",
  video: "The screen may stay on (a film that plays out of sight).",
  nothing: "The screen may go dark: set its time-out longer.",
};
const within = (promise, limitMs) => Promise.race([promise, new Promise((_, no) => setTimeout(no, limitMs))]);

async function stayAwake() {
  let how = "nothing";
  clearInterval(stayAwake.drawing);
  stayAwake.video?.pause();
  try { if (navigator.wakeLock) { await within(navigator.wakeLock.request("screen"), 1000); how = "lock"; } } catch { how = "nothing"; }
  if (how === "nothing") {
    try {
      const canvas = document.createElement("canvas");
      canvas.width = canvas.height = 2;
      const paper = canvas.getContext("2d");
      const film = canvas.captureStream(1);
      stayAwake.drawing = setInterval(() => paper.fillRect(0, 0, 1, 1), 1000);
      const silent = sound?.createMediaStreamDestination();
      for (const track of silent?.stream.getAudioTracks() || []) film.addTrack(track);
      const video = document.createElement("video");
      video.playsInline = true;
      video.srcObject = film;
      stayAwake.video = video;
      await within(video.play(), 1000);
      how = "video";
    } catch { how = "nothing"; }
  }
  document.body.dataset.awake = how;
  at("awake").textContent = awakeWords[how];
}

document.addEventListener("pointerdown", () => { isDown = true; });
for (const name of ["pointerup", "pointercancel"]) document.addEventListener(name, () => setTimeout(() => {
  isDown = false;
  if (held) { const event = held; held = null; show(event); }
}, 0));
document.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button || button.disabled) return;
  const { do: what, words, pick, which, colour, type } = button.dataset;
  if (armed && armed !== button) { armed.textContent = armed.dataset.arm; armed.classList.remove("armed"); armed = null; }
  if (button.dataset.arm && armed !== button) { arm(button); return; }
  armed = null;
  if (what) { button.disabled = true; setTimeout(() => { button.disabled = false; }, 1500); ask(what, JSON.parse(words)); }
  if (type) {
    Object.assign(at("type").dataset, { what: type, words });
    at("asks").textContent = button.dataset.asks;
    at("typed").maxLength = Number(button.dataset.most);
    at("typed").value = "";
    at("type").showModal();
  }
  if (pick) {
    at("choices").replaceChildren(at("page").querySelector("template")?.content.cloneNode(true) || "");
    paint(at("choices"));
    at("pick").dataset.spot = pick;
    at("which").textContent = which;
    at("pick").showModal();
  }
  if (colour) {
    const [end, ...name] = at("pick").dataset.spot.split(" ");
    ask("colour", [end, name.join(" "), colour]);
    at("pick").close();
  }
});
at("close").onclick = () => at("pick").close();
at("unsaid").onclick = () => at("type").close();
at("say").onclick = () => {
  const { what, words } = at("type").dataset;
  if (at("typed").value.trim()) ask(what, [...JSON.parse(words), at("typed").value]);
  at("type").close();
};
at("typed").onkeydown = (event) => { if (event.key === "Enter") { event.preventDefault(); at("say").click(); } };
at("again").onclick = () => ask("again");
at("keep").onclick = () => ask("keep");
at("snap").onclick = () => at("camera").click();
at("camera").onchange = async () => {
  for (const file of at("camera").files) await takePhoto(file).catch(() => say("That is no photo this phone can draw."));
  at("camera").value = "";
};
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState !== "visible") return;
  if (document.body.dataset.awake) stayAwake();
  if (stream && Date.now() - heardAt > 5000) listen();
});
at("go").onclick = () => {
  at("begin").close();
  sound = new AudioContext();
  stayAwake();
};

rung = sessionStorage.getItem("rung");
setInterval(watch, 500);
const secret = location.hash.slice(1);
if (secret) {
  history.replaceState(null, "", "/");
  const answer = await fetch("/enter", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ secret }) });
  if (!answer.ok && (await fetch("/who")).status === 401) stranger(await answer.text());
}
if ((await fetch("/who").catch(() => ({ status: 0 }))).status !== 401) {
  at("begin").showModal();
  listen();
}
