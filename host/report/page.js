
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
// Countdowns, by this device's clock.
const two = n => String(n).padStart(2, "0");
const tick = () => document.querySelectorAll(".countdown").forEach(box => {
  const events = [...box.querySelectorAll("li")];
  const next = events.find(e => Number(e.dataset.at) > Date.now());
  events.forEach(e => e.classList.toggle("next", e === next));
  const left = box.querySelector(".left");
  left.hidden = false;
  if (!next) {
    left.textContent = "All of it is over.";
    return;
  }
  const s = Math.ceil((Number(next.dataset.at) - Date.now()) / 1000);
  const days = Math.floor(s / 86400);
  left.textContent = `${next.dataset.label} in ${days > 0 ? days + " d " : ""}${Math.floor(s / 3600) % 24}:`
    + `${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`;
});
if (document.querySelector(".countdown")) {
  tick();
  setInterval(tick, 500);
}
