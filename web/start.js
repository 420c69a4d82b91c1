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

// What trusted types want of a text before it may run, where the engine has them. All
// that passes here is the program's own, or a page that it made.
let policy;
function trusted(kind, text) {
  const same = (text) => text;
  policy ??= globalThis.trustedTypes?.createPolicy("keyproof", { createHTML: same, createScript: same, createScriptURL: same });
  return policy ? policy[kind](text) : text;
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
  script.textContent = trusted("createScript", source);
  host.attachShadow({ mode: "open" }).append(script);
  document.documentElement.append(host);
  host.remove();
}

// Nine bytes in eleven letters, of the 94 that mean nothing to HTML in a script that is
// none; see crates/xtask/src/letters.rs. The space stands in for `<`.
function read(letters) {
  const groups = letters.length / 11;
  const view = new DataView(new ArrayBuffer(groups * 9));
  let at = 0;
  const number = (count) => {
    let held = 0;
    while (count--) held = held * 94 + (letters.charCodeAt(at++) - 32 || 28) - 1;
    return BigInt(held);
  };
  for (let i = 0; i < groups; i++) {
    const held = number(5) * 689869781056n + number(6);
    view.setBigUint64(i * 9, held, true);
    view.setUint8(i * 9 + 8, Number(held >> 64n));
  }
  return new Uint8Array(view.buffer);
}
