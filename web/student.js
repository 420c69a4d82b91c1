// Starts the student's page.
(async () => {
  const room = document.getElementById("keyproof");
  const content = (id) => document.getElementById(id)?.textContent ?? "";
  const tell = (message) => {
    if (parent !== window) parent.postMessage({ keyproof: 1, ...message }, "*");
  };
  // What stands there without the program is not seen while that is on its way. A
  // rule hides it, and no attribute, so that a saved page still has it to say.
  const refusal = document.getElementById("keyproof-refused");
  const [style] = document.styleSheets;
  style.insertRule("#keyproof-refused { display: none }", style.cssRules.length);
  room.style.visibility = "hidden";
  try {
    const started = await program(held("keyproof-parts"));
    const { exported } = started;
    const { recall, result, watch, fit } = exported.attend;
    const lesson = content("keyproof-lesson");
    // A course that shows the page gives back the work it keeps.
    const [, given] = /^#kept=(.*)$/.exec(location.hash) ?? [];
    recall(room, lesson, given && decodeURIComponent(given));
    watch(room);
    fit(room);
    // A frame may be made as high as what is in it: the window says nothing there.
    if (parent !== window) room.style.setProperty("--kp-most", "34em");
    room.addEventListener("keyproof-news", () => tell({ type: "result", ...result(room) }));
    exported.mount(room, lesson, content("keyproof-answers"), started.style);
    new ResizeObserver(() => tell({ type: "height", height: document.documentElement.offsetHeight })).observe(
      document.documentElement,
    );
    room.style.visibility = "";
  } catch (fault) {
    room.style.visibility = "";
    style.deleteRule(style.cssRules.length - 1);
    refusal.style.animation = "none";
    refusal.append(` (${fault.message || fault})`);
    throw fault;
  }
})();
