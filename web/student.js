// Starts the student's page.
(async () => {
  const room = document.getElementById("keyproof");
  // What stands there without the program is not seen while that is on its way. A
  // rule hides it, and no attribute, so that a saved page still has it to say.
  const refusal = document.getElementById("keyproof-refused");
  const [sheet] = document.styleSheets;
  sheet.insertRule("#keyproof-refused { display: none }", sheet.cssRules.length);
  room.style.visibility = "hidden";
  try {
    const { exported, style } = await program(held("keyproof-parts"));
    exported.attend.stand(room, exported, style);
    room.style.visibility = "";
  } catch (fault) {
    room.style.visibility = "";
    sheet.deleteRule(sheet.cssRules.length - 1);
    refusal.style.animation = "none";
    refusal.append(` (${fault.message || fault})`);
    throw fault;
  }
})();
