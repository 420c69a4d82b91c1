// Starts the page's program: inflates it, compiles it once, and hands the
// compiled module to the page and to every worker. Works from a file, from a
// server and in a frame, under a policy that allows no request at all.
//
// The element `keyproof-parts` holds one raw deflate stream as letters: the
// glue script, `data-glue` bytes long, then the wasm.
(async () => {
  const room = document.getElementById("keyproof");
  try {
    const element = document.getElementById("keyproof-parts");
    const parts = await inflate(element);
    const length = Number(element.dataset.glue);
    const glue = new TextDecoder().decode(parts.subarray(0, length));
    const module = await WebAssembly.compile(parts.subarray(length));
    element.remove();
    globalThis.keyproof = {
      module,
      workerSource: `${glue}
onmessage = (event) => {
  onmessage = null;
  wasm_bindgen.initSync({ module: event.data.module });
  wasm_bindgen.worker_start();
};`,
      student: async () => new TextDecoder().decode(await inflate(document.getElementById("keyproof-student"))),
    };
    run(glue);
    await wasm_bindgen({ module_or_path: module });
    wasm_bindgen.page_start();
  } catch (fault) {
    room.textContent = `This page cannot start here: ${fault.message || fault}. It needs a browser of 2023 or later with scripts and WebAssembly allowed.`;
    room.setAttribute("role", "alert");
    throw fault;
  }

  // Runs a script's text at the top level. In a shadow root a script does not
  // see itself as the current one, so the glue does not look for its own
  // address, which a page inside a frame may not have.
  function run(text) {
    const host = document.createElement("div");
    const script = document.createElement("script");
    script.textContent = text;
    host.attachShadow({ mode: "open" }).append(script);
    document.body.append(host);
    host.remove();
  }

  async function inflate(element) {
    const stream = new Blob([read(element.textContent)]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
    return new Uint8Array(await new Response(stream).arrayBuffer());
  }

  // Thirteen bits in two letters, of the 91 that mean nothing to HTML; see
  // crates/xtask/src/letters.rs.
  function read(text) {
    const values = new Uint8Array(127);
    for (let code = 33, value = 0; code < 127; code++) {
      if (!"&<>".includes(String.fromCharCode(code))) values[code] = value++;
    }
    const bytes = new Uint8Array((text.length * 13) / 16 + 1);
    let length = 0;
    let held = 0;
    let bits = 0;
    for (let i = 0; i < text.length; i += 2) {
      const pair = i + 1 < text.length;
      const value = values[text.charCodeAt(i)];
      held |= (pair ? value * 91 + values[text.charCodeAt(i + 1)] : value) << bits;
      for (bits += pair ? 13 : 6; bits >= 8; bits -= 8) {
        bytes[length++] = held;
        held >>>= 8;
      }
    }
    return bytes.subarray(0, length);
  }
})();
