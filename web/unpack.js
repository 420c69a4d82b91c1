// Unpacks one LZMA stream (raw: no header, lc=4, lp=0, pb=0), as written by
// crates/xtask/src/pack.rs. A tenth smaller than what a browser can inflate by
// itself, and it needs nothing of the browser.
//
// The format: a range coder whose every bit has an adaptive probability; a bit
// tells a literal from a match, more bits give the match's length and distance
// or repeat one of the last four distances.
function unpack(packed, size) {
  const out = new Uint8Array(size);
  const even = (length) => new Uint16Array(length).fill(1024);
  const lengths = () => ({ choice: even(2), low: even(8), middle: even(8), high: even(256) });
  const match = even(12);
  const repeat = even(12);
  const older = [even(12), even(12), even(12)];
  const longer = even(12);
  const literals = even(0x300 << 4);
  const slots = even(256);
  const near = even(128);
  const align = even(16);
  const matched = lengths();
  const repeated = lengths();
  const last = [0, 0, 0, 0];
  let state = 0;
  let end = 0;
  let at = 1;
  let range = 0xffffffff;
  let code = 0;
  while (at < 5) code = code * 256 + packed[at++];

  function settle() {
    if (range < 0x1000000) {
      range *= 256;
      code = code * 256 + packed[at++];
    }
  }
  function bit(chances, index) {
    const chance = chances[index];
    const bound = (range >>> 11) * chance;
    const one = code >= bound;
    if (one) {
      range -= bound;
      code -= bound;
      chances[index] -= chance >> 5;
    } else {
      range = bound;
      chances[index] += (2048 - chance) >> 5;
    }
    settle();
    return +one;
  }
  // A number of `width` bits, the highest first; its tree starts at `from`.
  function tree(chances, from, width) {
    let node = 1;
    for (let i = 0; i < width; i++) node = node * 2 + bit(chances, from + node);
    return node - (1 << width);
  }
  function backwards(chances, from, width) {
    let node = 1;
    let number = 0;
    for (let i = 0; i < width; i++) {
      const one = bit(chances, from + node);
      node = node * 2 + one;
      number |= one << i;
    }
    return number;
  }
  function plain(width) {
    let number = 0;
    for (let i = 0; i < width; i++) {
      range = Math.floor(range / 2);
      const one = code >= range;
      if (one) code -= range;
      number = number * 2 + +one;
      settle();
    }
    return number;
  }
  function length({ choice, low, middle, high }) {
    if (!bit(choice, 0)) return 2 + tree(low, 0, 3);
    return bit(choice, 1) ? 18 + tree(high, 0, 8) : 10 + tree(middle, 0, 3);
  }
  function distance(length) {
    const slot = tree(slots, Math.min(length - 2, 3) * 64, 6);
    if (slot < 4) return slot;
    const width = (slot >> 1) - 1;
    const base = (2 | (slot & 1)) * 2 ** width;
    if (slot < 14) return base + backwards(near, base - slot, width);
    return base + plain(width - 4) * 16 + backwards(align, 0, 4);
  }
  function literal() {
    const from = 0x300 * (end ? out[end - 1] >> 4 : 0);
    let node = 1;
    if (state > 6) {
      let byte = out[end - last[0] - 1];
      while (node < 256) {
        const wanted = (byte >> 7) & 1;
        byte <<= 1;
        const one = bit(literals, from + (1 + wanted) * 256 + node);
        node = node * 2 + one;
        if (one !== wanted) break;
      }
    }
    while (node < 256) node = node * 2 + bit(literals, from + node);
    out[end++] = node;
    state = state < 4 ? 0 : state < 10 ? state - 3 : state - 6;
  }

  while (end < size) {
    if (!bit(match, state)) {
      literal();
      continue;
    }
    let count = 1;
    if (!bit(repeat, state)) {
      count = length(matched);
      last.unshift(distance(count));
      last.pop();
      state = state < 7 ? 7 : 10;
    } else {
      if (bit(older[0], state)) {
        const index = bit(older[1], state) ? 2 + bit(older[2], state) : 1;
        last.unshift(...last.splice(index, 1));
        count = 0;
      } else if (bit(longer, state)) {
        count = 0;
      }
      if (count) {
        state = state < 7 ? 9 : 11;
      } else {
        count = length(repeated);
        state = state < 7 ? 8 : 11;
      }
    }
    for (const from = last[0] + 1; count > 0; count--, end++) out[end] = out[end - from];
  }
  return out;
}
