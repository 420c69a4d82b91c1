// Starts the author's page, and hands it what its workers and its exports
// need. What stands in the page itself is said here, before the program is there
// and when the desk speaks another language; the desk says the rest. A page that
// the browser saved starts from what it was: English stays beside what is said.
(async () => {
  const words = JSON.parse(document.getElementById("keyproof-words").textContent);
  const room = document.getElementById("keyproof");
  const refusal = (room.dataset.refusal ??= room.dataset.refused);
  const said = [...document.querySelectorAll("[data-say]")].map((e) => [e, (e.dataset.say ||= e.textContent)]);
  speak(wanted());
  // What was saved with the page does nothing before the program is there.
  room.inert = true;
  try {
    const { exported, module, script, style } = await program(held("keyproof-parts"));
    document.getElementById("keyproof-sheet")?.remove();
    const sheet = document.createElement("style");
    sheet.id = "keyproof-sheet";
    sheet.textContent = style;
    document.head.append(sheet);
    let student;
    globalThis.keyproof = {
      module,
      workerSource: `${script}
onmessage = (event) => {
  onmessage = null;
  wasm_bindgen.initSync({ module: event.data.module });
  wasm_bindgen.worker_start();
};`,
      speak,
      startWorker: (url) => new Worker(trusted("createScriptURL", url)),
      fill: (frame, html) => (frame.srcdoc = trusted("createHTML", html)),
      student: async () => (student ??= text(held("keyproof-student")[0])),
    };
    exported.page_start();
  } catch (fault) {
    refused(room, fault);
    throw fault;
  } finally {
    room.inert = false;
  }

  // Says what stands in the page in the language of a tag.
  function speak(tag) {
    const of = (english) => words[tag]?.[english] ?? english;
    document.documentElement.lang = tag;
    room.dataset.refused = of(refusal);
    for (const [element, english] of said) element.textContent = of(english);
  }

  // The language that was chosen here, or the first that the browser asks for and
  // that there are words in: what `page::tongue` finds once the program is there.
  function wanted() {
    let kept = null;
    try {
      kept = localStorage.getItem("keyproof-tongue");
    } catch {
      // Nothing is kept here.
    }
    const known = ["en", ...Object.keys(words)];
    for (let tag of [kept, ...navigator.languages]) {
      for (; tag; tag = tag.replace(/-?[^-]*$/, "")) {
        const found = known.find((one) => one.toLowerCase() === tag.toLowerCase());
        if (found) return found;
      }
    }
    return "en";
  }
})();

// Says before what a page shows without its program that it cannot start; the
// words are the room's data.
function refused(room, fault) {
  room.querySelector(":scope > [role=alert]")?.remove();
  const told = document.createElement("p");
  told.textContent = `${room.dataset.refused} (${fault.message || fault})`;
  told.setAttribute("role", "alert");
  room.prepend(told);
}
