// What surrounds a student's work: keeping it until he comes back, and telling
// the page around it. The program leaves its news in the host's data and fires
// `keyproof-news`. Packed with the program, beside whose exports it stands.
//
// Messages to the page around a frame, version 1:
//   { keyproof: 1, type: "height", height }    in CSS pixels
//   { keyproof: 1, type: "result", title, solved, of, mistakes, shown, cost, account, kept }
// where `shown` counts what was shown rather than found, `cost` the points that
// hints cost, `account` is a line for people, and `kept` is the work itself, as
// a later visit takes it up.
wasm_bindgen.attend = (() => {
  // Gives the host what was kept of an earlier visit. `lesson` tells one lesson's
  // work from another's; `given` is what the page around it has kept. A page that
  // was saved with the work on it has that in the host's data already.
  function recall(host, lesson, given) {
    let key = 5381;
    for (let i = 0; i < lesson.length; i++) key = (key * 33 + lesson.charCodeAt(i)) | 0;
    host.keyproofKey = `keyproof-work-${key >>> 0}`;
    const saved = host.dataset.kept ?? "";
    host.dataset.kept = given ?? saved;
    try {
      host.dataset.kept = given ?? localStorage.getItem(host.keyproofKey) ?? saved;
      host.dataset.name = localStorage.getItem("keyproof-name") ?? "";
      for (const choice of ["left", "plain"]) {
        if (localStorage.getItem(`keyproof-${choice}`)) host.dataset[choice] = "";
      }
    } catch {
      // Storage is refused here: the work lasts as long as the page.
    }
  }

  // Keeps the news of a host; what it says of the result.
  function result(host) {
    const { kept, title, solved, of, mistakes, shown, cost, account } = host.dataset;
    try {
      localStorage.setItem(host.keyproofKey, kept);
      localStorage.setItem("keyproof-name", host.dataset.name ?? "");
      for (const choice of ["left", "plain"]) {
        localStorage.setItem(`keyproof-${choice}`, host.dataset[choice] === "" ? "1" : "");
      }
    } catch {
      // As above.
    }
    return { title, solved: +solved, of: +of, mistakes: +mistakes, shown: +shown, cost: +cost, account, kept };
  }

  // Says in a host's place that the program met a fault of its own: such a fault
  // stops it without a word, and the browser tells of it as an error in the script
  // that `run` names. The program has left what to say in the host's data.
  function watch(host) {
    addEventListener("error", ({ error }) => {
      if (!(error instanceof WebAssembly.RuntimeError && `${error.stack}`.includes("keyproof-program"))) return;
      const room = host.shadowRoot?.lastElementChild ?? host;
      room.textContent = host.dataset.fault;
      room.setAttribute("role", "alert");
    });
  }

  // Tells a host's style what an on-screen keyboard leaves of the window, and shows
  // the board there. Whoever has magnified the page sees a part of it by choice.
  function fit(host) {
    const view = window.visualViewport;
    let typing = false;
    const act = () => {
      const was = typing;
      typing = view.scale < 1.1 && innerHeight - view.height > 120;
      const under = innerHeight - view.height - view.offsetTop;
      for (const [name, value] of [["seen", view.height], ["under", Math.max(0, under)]]) {
        if (typing) host.style.setProperty(`--kp-${name}`, `${value}px`);
        else host.style.removeProperty(`--kp-${name}`);
      }
      host.toggleAttribute("data-typing", typing);
      if (typing && !was) host.shadowRoot?.querySelector(".kp-place").scrollIntoView();
    };
    for (const kind of ["resize", "scroll"]) view?.addEventListener(kind, act);
  }

  // Where there is little room the controls scroll below what is said, which comes into
  // sight once an engine has scrolled to the line that was typed in.
  function say(host) {
    const said = host.shadowRoot?.querySelector(".kp-verdict");
    const act = () => requestAnimationFrame(() => setTimeout(() => (said.parentNode.scrollTop = 0)));
    if (said) new MutationObserver(act).observe(said, { childList: true });
  }

  // Gives the account to whoever it is for, as the button says that was pressed.
  function give(host) {
    const root = host.shadowRoot;
    if (!root) return;
    const field = root.querySelector(".kp-account input");
    field.value = host.dataset.name ?? "";
    if (!navigator.share) root.querySelector("[data-give=share]").hidden = true;
    root.addEventListener("click", ({ target }) => {
      const account = root.querySelector(".kp-account textarea");
      const how = target.dataset?.give;
      if (how === "share") navigator.share({ text: account.value }).catch(() => {});
      if (how === "save") {
        const link = document.createElement("a");
        link.href = URL.createObjectURL(new Blob([account.value], { type: "text/plain" }));
        link.download = `${host.dataset.title}.txt`;
        link.click();
      }
      if (how === "copy") {
        account.select();
        const told = root.querySelector("[data-told]");
        told.textContent = document.execCommand("copy") ? told.dataset.told : "";
      }
    });
  }

  // The program on the puzzles of a page of its own, which tells the page around it.
  function stand(room, exported, style) {
    const content = (id) => document.getElementById(id)?.textContent ?? "";
    const tell = (message) => {
      if (parent !== window) parent.postMessage({ keyproof: 1, ...message }, "*");
    };
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
    give(room);
    say(room);
    const page = document.documentElement;
    new ResizeObserver(() => tell({ type: "height", height: page.offsetHeight })).observe(page);
  }

  return { recall, result, watch, fit, give, say, stand };
})();
