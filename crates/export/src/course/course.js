// What both kinds of course package do: show the lesson in a frame, take its
// news, and hand what is new in them to the course. `attend` begins and says
// what comes back; a record is
//   { id, mistakes, shown, cost, moves, seconds }
// of one question that is done with: `moves` is what the student played, in SAN.
const told = document.getElementById("told");
const frame = document.getElementById("lesson");
const began = Date.now();
const seconds = () => (Date.now() - began) / 1000;

// Says it under the lesson, where a teacher will look.
function say(text) {
  told.textContent = text;
}

// The questions in a line of kept work; see `kept` in web/guide/on-your-page.md.
function records(kept) {
  const found = [];
  for (const line of kept.split("\n")) {
    const [game, questions] = line.split(/ (.*)/);
    for (const question of (questions ?? "").split(",")) {
      const [, number, mistakes, shown, time, cost, moves] =
        /^(\d+)=(\d+)(s?)l?h*(?:t(\d+))?(?:\+(\d+))?(?::(.*))?$/.exec(question) ?? [];
      if (number === undefined) continue;
      const id = `game-${+game + 1}-question-${+number + 1}`;
      found.push({ id, mistakes: +mistakes, shown: !!shown, cost: +(cost ?? 0), moves: moves ?? "", seconds: +(time ?? 0) });
    }
  }
  return found;
}

// The score between 0 and 100: the share of questions answered without being
// shown, less what the hints cost.
function score({ solved, of, cost }) {
  return of ? Math.max(0, Math.round((100 * solved) / of) - (cost || 0)) : 0;
}

// The line from which the coach's desk reads the work; see `account` in crates/play.
// Nothing where the lesson cannot be seen from here.
function account(name, kept) {
  const lesson = frame.contentDocument?.getElementById("keyproof-lesson")?.textContent;
  if (lesson === undefined) return "";
  let key = 5381;
  for (let i = 0; i < lesson.length; i++) key = (key * 33 + lesson.charCodeAt(i)) | 0;
  const told = new TextEncoder().encode(`${name.replace(/\n/g, " ")}\n${kept}`);
  const bytes = new Uint8Array(8 + told.length);
  const view = new DataView(bytes.buffer);
  view.setInt32(4, key, true);
  bytes.set(told, 8);
  let sum = ~0;
  for (const byte of bytes.subarray(4)) {
    sum ^= byte;
    for (let bit = 0; bit < 8; bit++) sum = (sum >>> 1) ^ (0xedb88320 & -(sum & 1));
  }
  view.setInt32(0, ~sum, true);
  const letters = btoa(String.fromCharCode(...bytes));
  return `[keyproof1 ${letters.replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "")}]`;
}

// Shows the lesson with the work that was kept, and tells `take` of each news:
// the result, the questions done since the last news, and whether all are done.
function attend(kept, take) {
  const done = new Set(records(kept).map(({ id }) => id));
  let asked = Date.now();
  addEventListener("message", (event) => {
    const news = event.data;
    if (event.source !== frame.contentWindow || news?.keyproof !== 1 || news.type !== "result") return;
    const fresh = records(news.kept).filter(({ id }) => !done.has(id));
    for (const record of fresh) {
      done.add(record.id);
      // What an earlier version keeps has no time.
      record.seconds ||= (Date.now() - asked) / 1000 / fresh.length;
    }
    if (fresh.length) asked = Date.now();
    take(news, fresh, news.of > 0 && news.solved + news.shown === news.of);
  });
  frame.src = `lesson.html#kept=${encodeURIComponent(kept)}`;
}

// Shows the lesson where there is no course to tell.
function alone() {
  say("No course was found around this page: your answers are judged, but not recorded.");
  attend("", () => {});
}
