// What is chosen: said under the picture, with buttons that move it finely where a finger hides it

const nudge = (mark, by) => change(`key${mark.id}`, null, () => mark.set(mark.get() + by));
const nudgeCorner = (mark, [x, y], far) =>
  change(`key${mark.id}`, null, () => setCorner(mark.sheet, mark.corner, [mark.at[0] + far * x, mark.at[1] + far * y]));
const markHeld = () => marks.find((one) => one.id === held);

function showChosen() {
  const mark = markHeld(), corner = mark?.corner !== undefined;
  $("which").textContent = mark ? `${mark.g.getAttribute("aria-label")}: ${mark.told}` : "No mark is chosen. Click or tap one, or go to it with Tab.";
  for (const one of document.querySelectorAll("#chosen button")) {
    const along = mark && !corner, fits = { back: along, on: along, name: mark && !!mark.name, drop: mark && !!mark.drop };
    one.hidden = !(one.dataset.does in fits ? fits[one.dataset.does] : corner);
  }
}
$("chosen").addEventListener("click", (event) => {
  const mark = markHeld(), does = event.target.dataset.does;
  if (!mark || !does) return;
  const ways = { left: [-1, 0], right: [1, 0], up: [0, -1], down: [0, 1] };
  if (ways[does]) nudgeCorner(mark, ways[does], 1);
  else if (does === "name") mark.name();
  else if (does === "drop") mark.drop();
  else nudge(mark, does === "on" ? 0.1 : -0.1);
});
