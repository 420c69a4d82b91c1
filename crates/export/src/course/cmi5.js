// Tells a cmi5 course what the student does, as xAPI statements. The course
// starts this page with its address for them in the query.
const VERB = "http://adlnet.gov/expapi/verbs/";
const CATEGORY = "https://w3id.org/xapi/cmi5/context/categories/";

const query = new URLSearchParams(location.search);
const endpoint = (query.get("endpoint") ?? "").replace(/\/?$/, "/");
const activityId = query.get("activityId");
const registration = query.get("registration");
const actor = JSON.parse(query.get("actor") ?? "null");

function duration(seconds) {
  return `PT${Math.round(seconds * 100) / 100}S`;
}

async function begin() {
  const given = await fetch(query.get("fetch"), { method: "POST" });
  const token = (await given.json())["auth-token"];
  if (!token) throw new Error("the course gave no token");
  const headers = { Authorization: `Basic ${token}`, "X-Experience-API-Version": "1.0.3" };
  const document = (kind, parameters) => `${endpoint}${kind}?${new URLSearchParams(parameters)}`;
  const state = (stateId) =>
    document("activities/state", { stateId, activityId, agent: JSON.stringify(actor), registration });

  const launched = await fetch(state("LMS.LaunchData"), { headers });
  if (!launched.ok) throw new Error("the course gave no launch data");
  const launch = await launched.json();
  // A course requires that these are asked for, whether or not there are any.
  await fetch(
    document("agents/profile", { profileId: "cmi5LearnerPreferences", agent: JSON.stringify(actor) }),
    { headers },
  );
  const keeping = await fetch(state("keyproof-work"), { headers });
  const kept = keeping.ok ? await keeping.text() : "";

  // Statements go out one after the other: the course judges by their order.
  let sent = Promise.resolve();
  const statement = (verb, more, categories) => {
    const { context = {}, ...rest } = more;
    const template = structuredClone(launch.contextTemplate ?? {});
    const body = JSON.stringify({
      id: crypto.randomUUID(),
      actor,
      verb: { id: VERB + verb, display: { en: verb } },
      object: { objectType: "Activity", id: activityId },
      timestamp: new Date().toISOString(),
      ...rest,
      context: {
        ...template,
        ...context,
        registration,
        ...(categories.length && {
          contextActivities: {
            ...template.contextActivities,
            category: [...(template.contextActivities?.category ?? []), ...categories.map((name) => ({ id: CATEGORY + name }))],
          },
        }),
        extensions: { ...template.extensions, ...context.extensions },
      },
    });
    const send = () =>
      fetch(`${endpoint}statements`, {
        method: "POST",
        headers: { ...headers, "Content-Type": "application/json" },
        body,
        keepalive: true,
      }).then((answer) => {
        if (!answer.ok) say(`The course did not take a result (${answer.status}).`);
      });
    sent = sent.then(send).catch(() => say("The course cannot be reached: what you do now is not recorded."));
    return sent;
  };
  return { launch, kept, statement, headers, state };
}

begin().then(
  async ({ launch, kept, statement, headers, state }) => {
    const normal = launch.launchMode === "Normal";
    const cmi5 = ["cmi5"];
    const decisive = ["cmi5", "moveon"];
    let ended = false;
    let decided = false;
    await statement("initialized", {}, cmi5);

    attend(kept, (news, fresh, all) => {
      if (!normal || ended) return;
      for (const { id, mistakes, shown, cost, moves, seconds } of fresh) {
        statement(
          "answered",
          {
            object: {
              objectType: "Activity",
              id: `${activityId}#${id}`,
              definition: {
                type: "http://adlnet.gov/expapi/activities/cmi.interaction",
                interactionType: "other",
                name: { en: id },
              },
            },
            result: {
              success: !shown,
              response: moves,
              duration: duration(seconds),
              extensions: { "urn:keyproof:attempts": mistakes + (shown ? 0 : 1), "urn:keyproof:cost": cost },
            },
          },
          [],
        );
      }
      fetch(state("keyproof-work"), {
        method: "PUT",
        headers: { ...headers, "Content-Type": "text/plain" },
        body: news.kept,
        keepalive: true,
      }).catch(() => {});
      if (!all || decided) return;
      decided = true;
      const time = duration(seconds());
      const extensions = { "urn:keyproof:account": account(actor?.name ?? actor?.account?.name ?? "", news.kept) };
      statement("completed", { result: { completion: true, duration: time, extensions } }, decisive);
      if (launch.masteryScore === undefined) return;
      const scaled = score(news) / 100;
      const success = scaled >= launch.masteryScore;
      statement(
        success ? "passed" : "failed",
        {
          result: { success, score: { scaled, raw: scaled * 100, min: 0, max: 100 }, duration: time },
          context: { extensions: { "https://w3id.org/xapi/cmi5/context/extensions/masteryscore": launch.masteryScore } },
        },
        decisive,
      );
    });

    const terminate = () => {
      if (ended) return;
      ended = true;
      return statement("terminated", { result: { duration: duration(seconds()) } }, cmi5);
    };
    addEventListener("pagehide", terminate);
    if (launch.returnURL) {
      const back = document.createElement("a");
      back.href = launch.returnURL;
      back.textContent = "Back to the course";
      back.addEventListener("click", async (event) => {
        event.preventDefault();
        await terminate();
        location.href = launch.returnURL;
      });
      told.replaceChildren(back);
    }
  },
  alone,
);
