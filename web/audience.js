// The audience's window of a talk. Shows what the speaker's page tells it, passes keys
// on to it, and says that it is there for as long as it is: whichever of the two is
// loaded anew, they find each other again. F fills the screen.
const room = document.body;
const token = room.dataset.token;
const [board, words] = room.children;
let seen = 0;

const tell = (what) => opener?.postMessage({ keyproof: token, seen, ...what }, "*");

addEventListener("message", ({ source, data }) => {
  if (source !== opener || data?.keyproof !== token) return;
  seen = data.seen;
  document.documentElement.lang = data.language;
  document.title = data.title;
  room.className = `audience ${data.margin}`;
  draw(board, data.board);
  words.replaceChildren(...data.words.map(([kind, text]) => {
    const line = document.createElement("p");
    line.className = kind;
    line.dir = "auto";
    line.textContent = text;
    return line;
  }));
});

const fill = () => {
  if (document.fullscreenElement) document.exitFullscreen();
  else room.requestFullscreen().catch(() => {});
};

addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === "f" || event.key === "F") fill();
  else tell({ key: event.key });
  event.preventDefault();
});
addEventListener("dblclick", fill);
setInterval(tell, 500);
tell();
