"""How a document looks as a page, and how the page remembers its ticks."""

STYLE = """
body{font:16px/1.45 system-ui,-apple-system,"Segoe UI",Helvetica,Arial,sans-serif;color:#1d2530;
background:#fff;max-width:64rem;margin:2rem auto;padding:0 1rem}
h1{font-size:1.9rem;margin:0 0 .5rem}h2{font-size:1.35rem;margin:2.6rem 0 .5rem;border-top:2px solid
#d7dde3;padding-top:1.2rem}h3{font-size:1.05rem;margin:1.4rem 0 .4rem}
nav{columns:2;margin:1rem 0 0;padding:0}nav a{display:block;color:#0059a3;padding:.2rem 0}
p.caution{border-left:4px solid #c4161c;background:#fdf3f2;padding:.5rem .8rem;margin:.5rem 0}
.wide{overflow-x:auto}table{border-collapse:collapse;font-size:.86rem;margin:.6rem 0}
th,td{padding:.22rem .6rem;text-align:left;vertical-align:top}th{border-bottom:2px solid #1d2530}
tbody tr:nth-child(even){background:#f4f6f8}.n{text-align:right;font-variant-numeric:tabular-nums}
.t{text-align:center}input[type=checkbox]{width:1.5rem;height:1.5rem;margin:0;accent-color:#00693e}
figure{margin:.6rem 0}svg{width:100%;height:auto;border:1px solid #d7dde3}
figure .close{display:none}figure a{color:#0059a3;display:inline-block;padding:.35rem 0}
figure:target{position:fixed;inset:0;z-index:1;margin:0;background:#fff;overflow:auto}
figure:target .wide{overflow:visible}figure:target .open{display:none}
figure:target svg{width:calc(var(--mm)*5px);max-width:none;min-width:100%}
figure:target .close{display:block;position:fixed;right:.5rem;top:.5rem;padding:.5rem 1rem;
background:#1d2530;color:#fff;border-radius:.4rem}
.ticks{list-style:none;margin:.6rem 0;padding:0;columns:13rem}.ticks li{break-inside:avoid;
border-bottom:1px solid #d7dde3}.ticks label{display:flex;align-items:center;gap:.7rem;
padding:.45rem 0;white-space:nowrap}.ticks span{color:#56616c;min-width:1.6rem;text-align:right}
.ticks b{font-size:1.6rem;line-height:1.2}.ticks i{color:#a8141a;font-style:normal}
.ticks input:checked~b{color:#56616c;text-decoration:line-through}
button{font:inherit;padding:.5rem 1rem;border:1px solid #56616c;border-radius:.4rem;background:#fff}
@media screen and (max-width:44rem){.wide svg{width:44rem}.page svg{width:calc(var(--mm)*.16rem)}
.rows,.rows tbody{display:block}.rows thead{display:none}.rows td{display:block;padding:0;
grid-column:span var(--places,1)}.rows tr{display:grid;grid-template-columns:repeat(6,1fr);
gap:.3rem .4rem;padding:.5rem .4rem;border-bottom:1px solid #d7dde3}.rows td:empty{display:none}
.rows .n,.rows .t{text-align:left}
.rows td::before{content:attr(data-of);display:block;color:#56616c;font-size:.75rem}}
@media print{body{max-width:none;margin:0;font-size:11px}h2{break-before:page;border:0}
nav,button,figure a,.kept{display:none}tr{break-inside:avoid}}
"""

#: Ticks are kept under the page's title. A browser that keeps nothing still lets one tick.
SCRIPT = """
(() => {
  const key = "lumenmap: " + document.title;
  const said = document.querySelector(".kept");
  const boxes = [...document.querySelectorAll("input[data-key]")];
  let kept = true, ticked = [];
  try { ticked = JSON.parse(localStorage.getItem(key)) || []; } catch { kept = false; }
  const before = new Set(Array.isArray(ticked) ? ticked : []);
  for (const box of boxes) box.checked = before.has(box.dataset.key);
  const tell = () => {
    const n = boxes.filter((box) => box.checked).length;
    said.textContent = `${n} of ${boxes.length} boxes are ticked. ` + (kept
      ? "This browser remembers them."
      : "This browser doesn't keep them: they are gone when you close the page.");
  };
  const keep = () => {
    const all = boxes.filter((box) => box.checked).map((box) => box.dataset.key);
    try { localStorage.setItem(key, JSON.stringify(all)); kept = true; } catch { kept = false; }
    tell();
  };
  addEventListener("change", keep);
  addEventListener("click", (event) => {
    const list = event.target.closest("button[data-clears]");
    if (!list) return;
    const own = document.getElementById(list.dataset.clears);
    for (const box of own.querySelectorAll("input")) box.checked = false;
    keep();
  });
  addEventListener("keydown", (event) => {
    const open = document.querySelector("figure:target .close");
    if (event.key === "Escape" && open) open.click();
  });
  // A view of the house stands in the middle of its page; its left margin alone would be in sight.
  for (const view of document.querySelectorAll(".page .wide"))
    view.scrollLeft = (view.scrollWidth - view.clientWidth) / 2;
  for (const button of document.querySelectorAll("button[hidden]")) button.hidden = false;
  if (boxes.length) tell();
})();
"""
