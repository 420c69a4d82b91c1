// Starts the author's page, and hands it what its workers and its exports
// need.
(async () => {
  try {
    const { exported, module, script, style } = await program(held("keyproof-parts"));
    const sheet = document.createElement("style");
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
      student: async () => (student ??= text(held("keyproof-student")[0])),
    };
    exported.page_start();
  } catch (fault) {
    refused(document.getElementById("keyproof"), fault);
    throw fault;
  }
})();
