// Draws what the program has as SVG: makes each element by itself, of those names alone
// that its drawings have, and leaves out whatever acts or leads elsewhere. No page of
// ours reads a text as HTML, so that trusted types, asked for by the page or by one
// around it, have nothing to refuse.
const draw = (into, markup) => {
  const plain = (text) => text.replace(/&(lt|gt|quot|amp);/g, (_, name) => ({ lt: "<", gt: ">", quot: '"', amp: "&" })[name]);
  const within = [into];
  into.replaceChildren();
  for (const [whole, end, name, given, alone] of markup.matchAll(/<(\/?)(\w+)((?:\s+[\w:-]+="[^"]*")*)\s*(\/?)>|[^<]+/g)) {
    if (!name) within[0].append(plain(whole));
    else if (end) within.shift();
    else {
      const known = /^(svg|g|path|rect|text|clipPath)$/.test(name);
      const element = document.createElementNS("http://www.w3.org/2000/svg", known ? name : "g");
      for (const [, key, value] of given.matchAll(/([\w:-]+)="([^"]*)"/g)) {
        if (!/^on|href$/i.test(key)) element.setAttribute(key, plain(value));
      }
      within[0].append(element);
      if (!alone) within.unshift(element);
    }
  }
};
