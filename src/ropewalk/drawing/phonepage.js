"use strict";
(() => {
  const root = document.documentElement;
  const rail = document.querySelector("main");
  const screens = [...document.querySelectorAll(".screen")];
  const ticks = [...document.querySelectorAll(".tick input")];
  const [back, next] = document.querySelectorAll(".ways button");
  const [place, shown] = document.querySelectorAll(".bar b, .bar .unseen");
  const key = `ropewalk ${document.body.dataset.input}`;
  const word = document.body.dataset.word;
  const still = matchMedia("(prefers-reduced-motion: reduce)");

  // Where a browser keeps nothing, ticks last as long as the page is open.
  const kept = () => {
    try {
      const found = JSON.parse(localStorage.getItem(key));
      return found && Array.isArray(found.cut) ? found : { cut: [], at: 0 };
    } catch {
      return { cut: [], at: 0 };
    }
  };
  const keep = () => {
    try {
      const cut = ticks.filter((tick) => tick.checked).map((tick) => tick.value);
      localStorage.setItem(key, JSON.stringify({ cut, at }));
    } catch {
      // nothing to do: the page works without
    }
  };

  const before = kept();
  let at = Math.min(Math.max(Math.trunc(Number(before.at)) || 0, 0), screens.length - 1);
  for (const tick of ticks) tick.checked = before.cut.includes(tick.value);

  const tell = () => {
    const done = ticks.filter((tick) => tick.checked).length;
    place.textContent = `${at + 1} of ${screens.length}${ticks.length ? ` · ${done} of ${ticks.length} ${word}` : ""}`;
    shown.textContent = screens[at].getAttribute("aria-label");
    back.disabled = at === 0;
    next.disabled = at === screens.length - 1;
    screens.forEach((screen, number) => {
      screen.inert = number !== at;
    });
  };
  const show = (behavior) => {
    rail.scrollTo({ left: at * rail.clientWidth, behavior });
  };
  const go = (to) => {
    const aim = Math.min(Math.max(to, 0), screens.length - 1);
    if (aim === at) return;
    at = aim;
    screens[at].scrollTop = 0;
    tell();
    keep();
    show(still.matches ? "instant" : "smooth");
  };

  root.classList.add("paged");
  tell();
  show("instant");

  back.addEventListener("click", () => go(at - 1));
  next.addEventListener("click", () => go(at + 1));
  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const to = {
      ArrowRight: at + 1, PageDown: at + 1, ArrowLeft: at - 1, PageUp: at - 1, Home: 0, End: screens.length - 1,
    }[event.key];
    if (to === undefined) {
      if (event.key === "ArrowDown") screens[at].scrollBy({ top: 80 });
      if (event.key === "ArrowUp") screens[at].scrollBy({ top: -80 });
      return;
    }
    event.preventDefault();
    go(to);
  });
  // After a swipe the page is where the rail came to rest.
  let rest = 0;
  rail.addEventListener("scroll", () => {
    clearTimeout(rest);
    rest = setTimeout(() => {
      const now = Math.round(rail.scrollLeft / Math.max(rail.clientWidth, 1));
      if (now !== at && now >= 0 && now < screens.length) {
        at = now;
        tell();
        keep();
      }
    }, 120);
  });
  addEventListener("resize", () => show("instant"));
  for (const tick of ticks) {
    tick.addEventListener("change", () => {
      tell();
      keep();
    });
  }
})();
