// Starts the page's program: unpacks it, compiles it once, and hands the
// compiled module to the page and to every worker. Works from a file, from a
// server and in a frame, under a policy that allows no request at all.
//
// The element `keyproof-parts` holds glue script, style sheet and wasm, packed
// together and written as letters; `data-parts` holds their three lengths.
// `unpack` stands in unpack.js.
(async () => {
  const room = document.getElementById("keyproof");
  try {
    const [glue, style, wasm] = parts(document.getElementById("keyproof-parts"));
    const module = await WebAssembly.compile(wasm);
    const sheet = document.createElement("style");
    sheet.textContent = text(style);
    document.head.append(sheet);
    globalThis.keyproof = {
      module,
      workerSource: `${text(glue)}
onmessage = (event) => {
  onmessage = null;
  wasm_bindgen.initSync({ module: event.data.module });
  wasm_bindgen.worker_start();
};`,
      student: async () => text(parts(document.getElementById("keyproof-student"))[0]),
    };
    run(text(glue));
    await wasm_bindgen({ module_or_path: module });
    wasm_bindgen.page_start();
  } catch (fault) {
    room.textContent = `This page cannot start here: ${fault.message || fault}. It needs a browser of 2021 or later with scripts and WebAssembly allowed.`;
    room.setAttribute("role", "alert");
    throw fault;
  }

  // Runs a script's text at the top level. In a shadow root a script does not
  // see itself as the current one, so the glue does not look for its own
  // address, which a page inside a frame may not have.
  function run(source) {
    const host = document.createElement("div");
    const script = document.createElement("script");
    script.textContent = source;
    host.attachShadow({ mode: "open" }).append(script);
    document.body.append(host);
    host.remove();
  }

  function text(bytes) {
    return new TextDecoder().decode(bytes);
  }

  // The parts that an element holds, which they leave.
  function parts(element) {
    const lengths = element.dataset.parts.split(" ").map(Number);
    const all = unpack(read(element.textContent), lengths.reduce((sum, length) => sum + length));
    let end = 0;
    return lengths.map((length) => all.subarray(end, (end += length)));
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
