
// The night switch, for this view only, and keyboard access to tables that are wider than the page.
const root = document.documentElement;
const night = document.getElementById("night");
night.hidden = false;
night.addEventListener("click", () => {
  const on = root.dataset.theme !== "night";
  root.dataset.theme = on ? "night" : "day";
  night.setAttribute("aria-pressed", String(on));
});
const reach = () => document.querySelectorAll(".scroll").forEach(box =>
  box.scrollWidth > box.clientWidth ? box.setAttribute("tabindex", "0") : box.removeAttribute("tabindex"));
reach();
addEventListener("resize", reach);
