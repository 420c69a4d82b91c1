// What the pages' and the element's own scripts share: unpacking the program,
// and running it. Works from a file, from a server and in a frame, under a
// policy that allows no request at all.

// The program, from what was packed: what it exports, the compiled module, the
// glue script's text, and the style sheet.
async function program([glue, style, wasm]) {
  const module = await WebAssembly.compile(wasm);
  const script = text(glue);
  run(`{${script}\nglobalThis.keyproofProgram = wasm_bindgen}\n//# sourceURL=keyproof-program.js`);
  const exported = globalThis.keyproofProgram;
  await exported({ module_or_path: module });
  return { exported, module, script, style: text(style) };
}

// The parts that an element of the page holds. It stays there: a page that the
// browser saves is the page as it stands, and must start again from it.
function held(id) {
  const element = document.getElementById(id);
  return parts(element.textContent, element.dataset.parts);
}

// The parts in a packed text. `lengths` has their sizes, between spaces.
function parts(letters, lengths) {
  const sizes = lengths.split(" ").map(Number);
  const all = unpack(read(letters), sizes.reduce((sum, size) => sum + size));
  let end = 0;
  return sizes.map((size) => all.subarray(end, (end += size)));
}

function text(bytes) {
  return new TextDecoder().decode(bytes);
}

// Runs a script's text at the top level. In a shadow root a script does not
// see itself as the current one, so the glue does not look for its own
// address, which a page inside a frame may not have.
function run(source) {
  const host = document.createElement("div");
  const script = document.createElement("script");
  script.textContent = source;
  host.attachShadow({ mode: "open" }).append(script);
  document.documentElement.append(host);
  host.remove();
}

// Thirteen bits in two letters, of the 91 that mean nothing to HTML; see
// crates/xtask/src/letters.rs.
function read(letters) {
  const values = new Uint8Array(127);
  for (let code = 33, value = 0; code < 127; code++) {
    if (!"&<>".includes(String.fromCharCode(code))) values[code] = value++;
  }
  const bytes = new Uint8Array((letters.length * 13) / 16 + 1);
  let length = 0;
  let held = 0;
  let bits = 0;
  for (let i = 0; i < letters.length; i += 2) {
    const pair = i + 1 < letters.length;
    const value = values[letters.charCodeAt(i)];
    held |= (pair ? value * 91 + values[letters.charCodeAt(i + 1)] : value) << bits;
    for (bits += pair ? 13 : 6; bits >= 8; bits -= 8) {
      bytes[length++] = held;
      held >>>= 8;
    }
  }
  return bytes.subarray(0, length);
}
