// Starts the student's page.
(async () => {
  const room = document.getElementById("keyproof");
  const content = (id) => document.getElementById(id)?.textContent ?? "";
  const tell = (message) => {
    if (parent !== window) parent.postMessage({ keyproof: 1, ...message }, "*");
  };
  // What stands there without the program is not seen while that is on its way.
  room.style.visibility = "hidden";
  try {
    const { exported, style } = await program(held("keyproof-parts"));
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
    exported.mount(room, lesson, content("keyproof-answers"), style);
    new ResizeObserver(() => tell({ type: "height", height: document.documentElement.offsetHeight })).observe(
      document.documentElement,
    );
    room.style.visibility = "";
  } catch (fault) {
    room.style.visibility = "";
    refused(room, fault);
    throw fault;
  }
})();
