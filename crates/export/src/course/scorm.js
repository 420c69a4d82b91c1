// Tells a SCORM 1.2 course what the student does. The course offers the object
// `API` in this window's frames or in those of the window that opened it.
function course(window) {
  for (let at = window, steps = 0; at && steps < 50; at = at.parent, steps++) {
    try {
      if (at.API) return at.API;
    } catch {
      return null; // A page of somebody else: nothing can be read there.
    }
    if (at.parent === at) return at.opener ? course(at.opener) : null;
  }
  return null;
}

// HHHH:MM:SS.ss, as CMITimespan has it.
function timespan(seconds) {
  const pad = (number, digits) => String(number).padStart(digits, "0");
  const hundredths = Math.round(seconds * 100);
  const whole = Math.floor(hundredths / 100);
  return `${pad(Math.floor(whole / 3600), 4)}:${pad(Math.floor(whole / 60) % 60, 2)}:${pad(whole % 60, 2)}.${pad(hundredths % 100, 2)}`;
}

// What `make` makes of the work, without moves if need be, as far as that fits into
// the 4096 letters of `cmi.suspend_data` and `cmi.comments`; else what is given.
function fitting(kept, make, none) {
  const made = [kept, kept.replace(/:[^,\n]*/g, "")].map(make);
  return made.find((text) => text.length <= 4096) ?? none;
}

const api = course(window);
const set = (name, value) => {
  if (api.LMSSetValue(name, String(value)) === "false") {
    console.warn(`${name}: ${api.LMSGetErrorString?.(api.LMSGetLastError())}`);
  }
};

if (!api || api.LMSInitialize("") === "false") {
  alone();
} else {
  const mastery = parseFloat(api.LMSGetValue("cmi.student_data.mastery_score"));
  let count = parseInt(api.LMSGetValue("cmi.interactions._count"), 10) || 0;
  const name = api.LMSGetValue("cmi.core.student_name");
  let finished = false;
  if (["not attempted", ""].includes(api.LMSGetValue("cmi.core.lesson_status"))) {
    set("cmi.core.lesson_status", "incomplete");
  }
  set("cmi.core.exit", "suspend");
  api.LMSCommit("");

  attend(api.LMSGetValue("cmi.suspend_data") || "", (news, fresh, all) => {
    for (const { id, shown, moves, seconds } of fresh) {
      const name = `cmi.interactions.${count++}`;
      set(`${name}.id`, id);
      set(`${name}.time`, new Date().toTimeString().slice(0, 8));
      set(`${name}.type`, "fill-in");
      set(`${name}.student_response`, moves.slice(0, 255));
      set(`${name}.result`, shown ? "wrong" : "correct");
      set(`${name}.latency`, timespan(seconds));
    }
    const raw = score(news);
    set("cmi.core.score.min", 0);
    set("cmi.core.score.max", 100);
    set("cmi.core.score.raw", raw);
    set("cmi.suspend_data", fitting(news.kept, (kept) => kept, ""));
    // Attempts have no field of their own but a question's moves; the account
    // sums them up in words, and the coach's desk reads the line below.
    set("cmi.comments", fitting(news.kept, (kept) => `${news.account}\n${account(name, kept)}`, news.account));
    if (all) {
      const passed = raw >= mastery ? "passed" : "failed";
      set("cmi.core.lesson_status", isNaN(mastery) ? "completed" : passed);
      set("cmi.core.exit", "");
    }
    api.LMSCommit("");
  });

  addEventListener("pagehide", () => {
    if (finished) return;
    finished = true;
    set("cmi.core.session_time", timespan(seconds()));
    api.LMSCommit("");
    api.LMSFinish("");
  });
}
