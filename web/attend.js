// What surrounds a student's work: keeping it until he comes back, and telling
// the page around it. The program leaves its news in the host's data and fires
// `keyproof-news`.
//
// Messages to the page around a frame, version 1:
//   { keyproof: 1, type: "height", height }    in CSS pixels
//   { keyproof: 1, type: "result", title, solved, of, mistakes, shown, cost, account }
// where `shown` counts what was shown rather than found, `cost` the points that
// hints cost, and `account` is a line for people.

// Gives the host what was kept of an earlier visit. `lesson` tells one lesson's
// work from another's.
function recall(host, lesson) {
  let key = 5381;
  for (let i = 0; i < lesson.length; i++) key = (key * 33 + lesson.charCodeAt(i)) | 0;
  host.keyproofKey = `keyproof-work-${key >>> 0}`;
  try {
    host.dataset.kept = localStorage.getItem(host.keyproofKey) || "";
    if (localStorage.getItem("keyproof-left")) host.dataset.left = "";
  } catch {
    // Storage is refused here: the work lasts as long as the page.
  }
}

// Keeps the news of a host; what it says of the result.
function result(host) {
  const { kept, left, title, solved, of, mistakes, shown, cost, account } = host.dataset;
  try {
    localStorage.setItem(host.keyproofKey, kept);
    localStorage.setItem("keyproof-left", left === "" ? "1" : "");
  } catch {
    // As above.
  }
  return { title, solved: +solved, of: +of, mistakes: +mistakes, shown: +shown, cost: +cost, account };
}
