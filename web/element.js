// The element <keyproof-lesson>: a lesson anywhere in a page that has loaded
// this script once. Its text is the lesson's PGN, in a <pre> or as it stands; a
// second <pre> holds the answers, as published files have them. What else is in
// it shows where the program cannot run. News come as the event
// `keyproof-result`, which bubbles, with the result as its detail.
if (!customElements.get("keyproof-lesson")) {
  // `<` and the sign of deletion stand for what a script's text would escape.
  const packed = PACKED.replace(/[<\x7f]/g, (sign) => (sign === "<" ? '"' : "\\"));
  const started = program(parts(packed, PARTS));

  customElements.define("keyproof-lesson", class extends HTMLElement {
    async connectedCallback() {
      if (this.keyproofStarted) return;
      this.keyproofStarted = true;
      // The parser may still be reading what is in it.
      if (document.readyState === "loading") await new Promise((ready) => addEventListener("DOMContentLoaded", ready));
      try {
        const [text, answers] = this.querySelectorAll("pre");
        const lesson = (text ?? this).textContent;
        const { exported, style } = await started;
        const { recall, result, watch, fit, give, say } = exported.attend;
        recall(this, lesson);
        watch(this);
        fit(this);
        this.addEventListener("keyproof-news", () =>
          this.dispatchEvent(new CustomEvent("keyproof-result", { bubbles: true, detail: result(this) })),
        );
        exported.mount(this, lesson, answers?.textContent ?? "", style);
        give(this);
        say(this);
      } catch (fault) {
        // The text stays readable.
        console.error(fault);
      }
    }
  });
}
