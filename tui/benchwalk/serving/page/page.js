// The terminal's own script begins when the page has loaded. Before that it is told where the websocket is, how large
// letters may be, and to wait for the font, because it measures the font only once.
const element = document.getElementById("terminal");
const address = new URL(`ws/${tabName()}`, location.href);
address.protocol = location.protocol === "https:" ? "wss:" : "ws:";
element.dataset.sessionWebsocketUrl = address.href;

// 80 columns by 24 lines have to fit; a letter of this font is 0.6 of its size wide, a line 1.32 high.
const fitting = Math.min((innerWidth - 8) / (80 * 0.6), (innerHeight - 8) / (24 * 1.32));
element.dataset.fontSize = String(Math.max(7, Math.min(16, Math.floor(fitting))));

const begin = window.onload;
window.onload = async (event) => {
  const faces = ["", "bold ", "italic "].map((face) => document.fonts.load(`${face}16px "Roboto Mono"`));
  await Promise.allSettled(faces);
  begin(event);
  document.querySelector(".xterm-helper-textarea").focus(); // keys go to the bench without a tap first
};

// A tab keeps its name through sleep and reloads: by it the server knows which walk is this tab's.
function tabName() {
  const made = Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0"));
  try {
    const name = sessionStorage.getItem("tab") || made.join("");
    sessionStorage.setItem("tab", name);
    return name;
  } catch {
    return made.join(""); // nothing may be kept in this browser: then a tab is found again only while it is open
  }
}

// --- what the bar at the foot says ---

const CLOSED = {
  4000: ["This bench was left; what was confirmed as noted is kept.", "Open the bench again"],
  4001: ["This bench goes on in another tab.", "Go on here"],
  4002: ["Too many tabs are open; close one first.", "Try again"],
  1001: ["The bench was closed on its own machine; what was confirmed as noted is kept.", "Try again"],
};
const LOST = "The line to the bench was lost; it keeps your place for a while.";
const UNHEARD = "The bench does not answer yet; it is tried again every few seconds.";
const GONE = "This address opens nothing any more; open the one that benchwalk serve printed last.";
const why = document.getElementById("why");
const again = document.getElementById("again");
let tapped = look;

function say(text, button, tap) {
  why.textContent = text;
  again.textContent = button;
  tapped = tap;
  document.body.classList.add("-told");
}

again.addEventListener("click", () => tapped());

// --- the line to the bench ---

let line = null; // the websocket, once there is one
let heard = 0; // when it last brought anything, in ms
let lost = false;
let next = 0; // the next look for it

window.WebSocket = class extends WebSocket {
  constructor(...given) {
    super(...given);
    line = this;
    this.addEventListener("message", (event) => {
      heard = Date.now();
      if (typeof event.data === "string") told(JSON.parse(event.data));
    });
    this.addEventListener("close", (event) => closed(event.code));
  }
};

function told([what, minutes]) {
  if (what === "put-down") {
    const away = `This tab was away for more than ${minutes} min, so its work was put down; take it up from the list.`;
    say(away, "Go on", () => document.body.classList.remove("-told"));
  }
}

function closed(code) {
  if (lost) return;
  if (code in CLOSED) say(...CLOSED[code], look);
  else lose();
}

function lose() {
  lost = true;
  say(LOST, "Go on now", look);
  look();
}

// Look for the bench until it answers, then begin again: the same tab finds the same walk.
async function look() {
  if (document.visibilityState !== "visible") return; // looked for when somebody looks here
  let answer;
  try {
    answer = await fetch(location.href, { method: "HEAD", cache: "no-store", signal: AbortSignal.timeout(5000) });
  } catch {
    why.textContent = UNHEARD;
    clearTimeout(next);
    next = setTimeout(look, 3000);
    return;
  }
  if (answer.ok) location.reload();
  else say(GONE, "Try again", look);
}

// After sleep a line may seem open and carry nothing: ask, and look for the bench where no answer comes.
function ask() {
  if (lost) look();
  if (lost || document.visibilityState !== "visible" || line === null || line.readyState !== 1) return;
  const asked = Date.now();
  line.send(JSON.stringify(["ping", String(asked)]));
  setTimeout(() => {
    if (heard < asked && line.readyState === 1 && !lost && document.visibilityState === "visible") lose();
  }, 4000);
}

document.addEventListener("visibilitychange", ask);
addEventListener("pageshow", ask);
addEventListener("online", ask);
setInterval(ask, 20000);

// A tab that is closed says so, and its work is put down; one that sleeps, or whose line breaks, cannot.
addEventListener("pagehide", (event) => {
  if (!event.persisted && line !== null && line.readyState === 1) line.send(JSON.stringify(["leaving"]));
});
