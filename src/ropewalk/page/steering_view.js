// The steering view: sliders, figures and words about the picture; figures are those sent, never gone between.

const WORDS = {
  steer: (value) => (value === 0 ? "straight ahead" : `${Math.abs(value)}° ${value > 0 ? "right" : "left"}`),
  fork: (value) => (value === 0 ? "fully out" : `${value} mm in`),
  rear: (value) => (value === 0 ? "fully out" : `${value} mm up`),
  fold: (value) => (value === 0 ? "open" : `folded by ${value}°`),
  post: (value) => (value === 0 ? "up" : `${value} mm down`),
};
/** Bends nearer to their kink radius than this are told. */
const CLOSE = 1.1;
/** Room between tags over the marks of worst poses [px]. */
const APART = 6;
const GRAVER = ["", "look", "near", "stop"];

function element(name, css, into, text) {
  const made = document.createElement(name);
  if (css) made.className = css;
  if (text !== undefined) made.textContent = text;
  if (into) into.append(made);
  return made;
}

class Steering {
  constructor(root, data, say) {
    this.root = root;
    this.say = say;
    this.frames = 0;
    this.take(data.scene);
    this.figures = data.figures;
    this.target = Object.fromEntries(this.scene.coordinates.map((name) => [name, 0]));
    for (const move of this.scene.moves) {
      const asked = Math.round(Number((data.pose || {})[move.name]) || 0);
      this.target[move.name] = Math.min(Math.max(asked, move.low), move.high);
    }
    this.shown = { ...this.effective() };
    this.build();
    this.watch();
    this.follow(false);
  }

  take(scene) {
    this.scene = scene;
    this.bodies = {};
    for (const span of scene.spans) {
      for (const grid of [span.path, span.folding]) if (grid) grid.numbers = unpacked(grid.points);
      span.home = carried(STILL, between(span.path, {}));
    }
    const named = [...scene.things.side, ...scene.things.top, ...scene.spans, ...scene.stations].map((one) => one.body);
    this.named = [...new Set([...named, scene.wheels.rear[0], scene.wheels.front[0]])];
  }

  // What stands on the page.

  build() {
    this.root.textContent = "";
    const page = element("div", "page", this.root);
    const pictures = element("div", "pictures", page);
    this.views = { side: this.picture(pictures, "side", "Side view", [0, 1]), top: this.picture(pictures, "top", "Cockpit from above", [2, 0]) };
    this.zoom(this.views.side.caption);
    const panel = element("div", "panel", page);
    this.inputs = {};
    this.marked = [];
    this.scene.moves.forEach((move) => this.slider(panel, move));
    this.note = element("p", "note", panel, "");
    this.status = element("p", "unseen", page, "");
    this.status.setAttribute("role", "status");
    this.table(page);
  }

  picture(into, name, caption, eye) {
    const figure = element("figure", name, into);
    const head = element("figcaption", "", figure);
    element("h2", "", head, caption);
    const svg = shape("svg", "", figure);
    svg.setAttribute("role", "img");
    const view = new View(this.scene, name, eye, svg);
    view.caption = head;
    view.figure = figure;
    return view;
  }

  zoom(caption) {
    const group = element("div", "zoom", caption);
    group.setAttribute("role", "group");
    group.setAttribute("aria-label", "Side view shows");
    this.zooms = [["whole", "Whole bike"], ["front", "Front end"]].map(([box, words]) => {
      const button = element("button", "", group, words);
      button.type = "button";
      button.addEventListener("click", () => this.look(box));
      return [box, button];
    });
  }

  look(box) {
    this.box = box;
    this.zooms.forEach(([own, button]) => button.setAttribute("aria-pressed", String(own === box)));
    this.views.side.box = this.scene.boxes[box];
    this.fit();
  }

  slider(panel, move) {
    const row = element("div", `move ${move.name}`, panel);
    const head = element("div", "head", row);
    const label = element("label", "", head, move.label);
    const output = element("span", "value", head, "");
    const track = element("div", "track", row);
    const marks = element("div", "marks", track);
    marks.setAttribute("aria-hidden", "true");
    const input = element("input", "", track);
    Object.assign(input, { type: "range", min: move.low, max: move.high, step: 1, id: `move-${move.name}` });
    input.value = this.target[move.name];
    label.htmlFor = input.id;
    this.inputs[move.name] = { input, output, row };
    this.mark(marks, move);
    if (move.name === "steer") this.buttons(row, move);
    input.addEventListener("input", () => this.set({ [move.name]: Number(input.value) }));
    input.addEventListener("change", () => this.keep());
  }

  mark(marks, move) {
    const share = (value) => (value - move.low) / Math.max(move.high - move.low, 1);
    const place = (made, value) => made.style.setProperty("--at", share(value));
    if (move.name === "steer") {
      const reach = Math.min(this.scene.riding, move.high);
      const band = element("span", "riding", marks, "");
      band.style.setProperty("--from", share(-reach));
      band.style.setProperty("--to", share(reach));
      element("span", "words", band, `riding ±${Math.round(reach)}°`);
      for (const [value, css, words] of [[move.low, "lock", "left lock"], [move.high, "lock", "right lock"], [0, "middle", ""]]) {
        const made = element("span", css, marks);
        place(made, value);
        element("span", "words", made, words);
      }
    }
    const worst = new Map();
    for (const one of this.scene.worst) {
      // the bike is either ridden or folded: what is worst in one of the two is no pose of the other
      const other = (move.name === "fold") !== Boolean(one.pose.fold);
      if (!one.bends.includes(move.name) || other) continue;
      const value = one.pose[move.name];
      worst.set(value, [...(worst.get(value) || []), one.tag]);
    }
    marks.parentElement.classList.toggle("marked", worst.size > 0);
    this.marked.push([marks, [...worst].sort((a, b) => a[0] - b[0]).map(([value, tags]) => {
      const made = element("span", "worst", marks);
      place(made, value);
      return { share: share(value), tags, words: element("span", "words", made, "") };
    })]);
  }

  /** Write the tags over the marks of worst poses; where they would lie over each other, over the middle of their marks. */
  nameMarks(marks, worst) {
    const groups = [];
    const tell = (ones) => {
      const [first] = ones, ats = ones.map((one) => one.share * marks.clientWidth);
      ones.forEach((one) => { one.words.textContent = ""; });
      first.words.textContent = ones.flatMap((one) => one.tags).join(" ");
      const half = first.words.offsetWidth / 2, beside = marks.offsetLeft;
      const most = marks.clientWidth + beside - half;
      const middle = Math.max(Math.min((ats[0] + ats[ats.length - 1]) / 2, most), half - beside);
      first.words.style.left = `${middle - ats[0]}px`;
      return { ones, from: middle - half, to: middle + half };
    };
    for (const one of worst) {
      let group = tell([one]);
      while (groups.length && groups[groups.length - 1].to + APART > group.from) {
        group = tell([...groups.pop().ones, ...group.ones]);
      }
      groups.push(group);
    }
  }

  buttons(row, move) {
    const group = element("div", "buttons", row);
    const jump = (words, pose) => {
      const button = element("button", "", group, words);
      button.type = "button";
      button.addEventListener("click", () => { this.set(pose); this.keep(); });
    };
    const still = { fold: 0 };
    jump(`Left lock ${-move.low}°`, { steer: move.low, ...still });
    jump("Straight", { steer: 0, ...still });
    jump(`Right lock ${move.high}°`, { steer: move.high, ...still });
    const worst = this.scene.worst[0];
    if (worst) jump(`Worst: ${worst.tag} at ${this.poseWords(worst.pose)}`, worst.pose);
  }

  table(page) {
    const made = element("table", "figures", page);
    const caption = element("caption", "", made, "Each piece at its target length, in this pose");
    caption.tabIndex = -1;
    const head = element("tr", "", element("thead", "", made));
    ["Piece", "Runs", "Radius where it moves", "Radius elsewhere", "Longer than straight", "State"].forEach((words) => {
      element("th", "", head, words).scope = "col";
    });
    const body = element("tbody", "", made);
    this.rows = this.scene.pieces.map((piece) => {
      const row = element("tr", `line-${piece.line % 6}`, body);
      const tag = element("th", "piece", row);
      tag.scope = "row";
      element("span", "swatch", tag).setAttribute("aria-hidden", "true");
      element("span", "", tag, piece.tag);
      element("td", "runs", row, `${piece.name}: ${piece.start} to ${piece.end}`);
      const cells = ["radius", "held", "spare", "state"].map((name) => [name, element("td", name, row)]);
      return { row, ...Object.fromEntries(cells) };
    });
  }

  // What the figures say.

  effective() {
    if (!this.target.fold) return { ...this.target };
    return { steer: Math.round(this.scene.foldSteer), fork: 0, rear: 0, post: 0, fold: this.target.fold };
  }

  /** Return a span's figures in a pose of whole units: radius and spare in tenths, and whether they are exact. */
  figuresOf(at, pose) {
    const tables = this.figures[at];
    const table = (pose.fold && tables.find((one) => one.coordinate === "fold")) || tables[0];
    const place = table.coordinate === null ? 0 : pose[table.coordinate] - table.first;
    const bends = this.scene.spans[at].path.axes.map(([name]) => name);
    const exact = table.coordinate === "fold" || bends.every((name) => name === table.coordinate || pose[name] === (table.others[name] || 0));
    return { radius: table.radius[place], spare: table.spare[place], exact };
  }

  /** Return how a span is bent: its grade, words for beside it and for the list, and the radius to keep. */
  grade(span, piece, radius, pose) {
    const { kink, advised } = piece, bend = radius / 10;
    if (radius === null) return ["stop", "in this pose", "housing too short here", kink];
    if (radius < 0) return ["", "", "fine", 0];
    if (!span.loop && bend < kink) return ["look", `kink radius ${kink}`, `held tighter than its kink radius, ${kink} mm`, kink];
    if (!span.loop) return ["", "", "fine", 0];
    if (bend < kink) return ["stop", `kinks under ${kink} mm`, `kinks under ${kink} mm`, kink];
    if (bend < kink * CLOSE) return ["near", `near kink radius ${kink}`, `close to its kink radius, ${kink} mm`, kink];
    const ridden = !pose.fold && Math.abs(pose.steer) <= this.scene.riding + 1e-6;
    if (ridden && bend < advised) return ["look", `advised ${advised} mm`, `tighter than the advised ${advised} mm`, advised];
    return ["", "", "fine", 0];
  }

  /** Return what is told of every span and piece in the pose asked for. */
  tell() {
    const pose = this.effective();
    const spans = this.scene.spans.map(() => ({ grade: "" }));
    const pieces = this.scene.pieces.map((piece) => this.tellPiece(piece, pose, spans));
    return { spans, pieces };
  }

  tellPiece(piece, pose, spans) {
    const found = piece.spans.map((at) => {
      const { loop, path, folding } = this.scene.spans[at];
      return { at, loop, moves: path.axes.length > 0 || folding !== null, ...this.figuresOf(at, pose) };
    });
    const exact = found.every((one) => one.exact);
    const length = (figure) => `${exact ? "" : "about "}${(figure / 10).toFixed(1)} mm`;
    const least = (kept, words) => (kept.length ? length(Math.min(...kept)) : words);
    for (const one of found) {
      const [grade, beside, state, limit] = this.grade(this.scene.spans[one.at], piece, one.radius, pose);
      Object.assign(one, { grade, beside, state, limit, words: one.radius === null ? "too short" : one.radius < 0 ? "straight" : length(one.radius) });
      spans[one.at] = one;
    }
    const gravest = found.reduce((worst, one) => (GRAVER.indexOf(one.grade) > GRAVER.indexOf(worst.grade) ? one : worst));
    const bends = (moves) => found.filter((one) => one.moves === moves && one.radius > 0).map((one) => one.radius);
    const moving = found.some((one) => one.moves);
    const loops = found.filter((one) => one.loop && (one.moves || !moving));
    return {
      exact,
      grade: gravest.grade,
      words: gravest.words,
      state: gravest.state,
      radius: found.some((one) => one.radius === null) ? "too short" : least(bends(true), moving ? "straight" : "nothing moves"),
      held: found.every((one) => one.moves) ? "–" : least(bends(false), "straight"),
      spare: least(loops.map((one) => one.spare), "–"),
    };
  }

  poseWords(pose) {
    const moved = this.scene.moves.map((move) => move.name).filter((name) => name !== "steer" && pose[name]);
    const others = moved.map((name) => (name === "fold" ? WORDS.fold(pose.fold) : `${this.short(name)} ${WORDS[name](pose[name])}`));
    return [...(pose.steer || !others.length ? [WORDS.steer(pose.steer)] : []), ...others].join(", ");
  }

  short(name) {
    return { fork: "fork", rear: "rear wheel", post: "post" }[name];
  }

  // What happens.

  set(pose) {
    Object.assign(this.target, pose);
    this.follow(true);
  }

  /** Show sliders, figures and words of the pose asked for; let the picture come after. */
  follow(moving) {
    const pose = this.effective();
    this.told = this.tell();
    for (const move of this.scene.moves) {
      const { input, output, row } = this.inputs[move.name];
      const value = pose[move.name];
      const still = Boolean(pose.fold) && move.name !== "fold";
      if (Number(input.value) !== value) input.value = value;
      if (input.disabled !== still) input.disabled = still;
      row.classList.toggle("still", still);
      const lock = move.name === "steer" && value && Math.abs(value) === move.high ? ", lock" : "";
      const words = WORDS[move.name](value) + lock;
      output.textContent = words;
      input.setAttribute("aria-valuetext", words);
    }
    const folding = pose.fold ? `While folded the bars point ${WORDS.steer(pose.steer)} and nothing else moves.` : "";
    if (this.note.textContent !== folding) this.note.textContent = folding;
    this.told.pieces.forEach((told, at) => {
      const { row, ...cells } = this.rows[at];
      const css = `line-${this.scene.pieces[at].line % 6} ${told.grade} ${told.exact ? "" : "about"}`;
      if (row.className !== css) row.className = css;
      for (const [name, cell] of Object.entries(cells)) if (cell.textContent !== told[name]) cell.textContent = told[name];
    });
    clearTimeout(this.speaking);
    this.speaking = setTimeout(() => this.speak(), moving ? 500 : 0);
    this.start();
  }

  /** Tell screen readers where things stand, once they rest. */
  speak() {
    const where = this.poseWords(this.effective());
    const tight = this.told.pieces.flatMap((told, at) => (told.grade ? [`${this.scene.pieces[at].tag} ${told.words}, ${told.state}`] : []));
    const rest = tight.length ? "All other pieces are fine." : "All pieces are fine.";
    const said = `${where}. ${tight.map((one) => `${one}. `).join("")}${rest}`;
    if (said !== this.status.textContent) this.status.textContent = said;
    const runs = this.told.pieces.map((told, at) => {
      const piece = this.scene.pieces[at];
      return `${piece.tag} runs from ${piece.start} to ${piece.end}, least radius where it moves: ${told.radius}, elsewhere: ${told.held}, ${told.state}`;
    });
    const names = { side: "Side view", top: "Cockpit from above" };
    for (const [name, view] of Object.entries(this.views)) {
      view.svg.setAttribute("aria-label", `${names[name]} of ${this.scene.bike}, ${where}: ${runs.join("; ")}.`);
    }
  }

  keep() {
    clearTimeout(this.keeping);
    this.keeping = setTimeout(() => this.say({ ...this.target }), 150);
  }

  start() {
    if (!this.running) this.running = requestAnimationFrame(() => this.frame());
    this.root.dataset.resting = "false";
  }

  /** Draw one frame of the picture on its way to the pose asked for. */
  frame() {
    this.running = 0;
    if (!this.root.isConnected) return;
    const wanted = this.effective();
    let rests = true;
    for (const name of this.scene.coordinates) {
      const gap = wanted[name] - this.shown[name];
      const near = Math.abs(gap) < 0.15 || this.calm.matches;
      this.shown[name] = near ? wanted[name] : this.shown[name] + gap * 0.4;
      rests = rests && near;
    }
    this.draw();
    this.frames += 1;
    this.root.dataset.frames = this.frames;
    if (rests) {
      this.root.dataset.resting = "true";
      this.root.dataset.shown = wanted.steer;
    } else this.start();
  }

  draw() {
    const pose = Object.fromEntries(this.scene.coordinates.map((name) => [name, 0]));
    for (const move of this.scene.moves) pose[move.name] = this.shown[move.name] / move.scale;
    const moved = new Set();
    for (const body of this.named) {
      const motion = placed(this.scene.joints, body, pose), before = this.bodies[body];
      if (!before || motion.some((part, at) => part !== before[at])) moved.add(body);
      this.bodies[body] = motion;
    }
    const folded = this.shown.fold > 0.01;
    const spans = this.scene.spans.map((span) => {
      const grid = (folded && span.folding) || span.path;
      return carried(this.bodies[span.body], grid.axes.length ? between(grid, pose) : grid.numbers);
    });
    const ground = this.groundAt({ ...pose, steer: 0, fold: 0 });
    for (const view of Object.values(this.views)) view.draw(this.bodies, moved, spans, this.told, folded, ground);
  }

  /** Return the ends of the ground, level or under both wheels where springs have given way. */
  groundAt(pose) {
    const { radius, rear, front } = this.scene.wheels;
    const [back, fore] = [rear, front].map(([body, at]) => carried(placed(this.scene.joints, body, pose), at));
    const length = Math.hypot(fore[0] - back[0], fore[1] - back[1]);
    const x = (fore[0] - back[0]) / length, y = (fore[1] - back[1]) / length, about = radius + 60;
    return [
      back[0] + radius * y - about * x, back[1] - radius * x - about * y, 0,
      fore[0] + radius * y + about * x, fore[1] - radius * x + about * y, 0,
    ];
  }

  // Sizes and colours.

  watch() {
    this.calm = matchMedia("(prefers-reduced-motion: reduce)");
    this.sized = new ResizeObserver(() => this.fit());
    this.sized.observe(this.root);
    this.dark = matchMedia("(prefers-color-scheme: dark)");
    this.recolour = () => setTimeout(() => this.colour(), 250);
    this.dark.addEventListener("change", this.recolour);
    this.colour();
    this.look(this.root.clientWidth < 620 ? "front" : "whole");
  }

  stop() {
    this.sized.disconnect();
    this.dark.removeEventListener("change", this.recolour);
    cancelAnimationFrame(this.running);
    clearTimeout(this.speaking);
  }

  colour() {
    const ground = getComputedStyle(this.root).getPropertyValue("--st-background-color").trim();
    const probe = element("span", "", this.root);
    probe.style.color = ground || "#fff";
    const parts = (getComputedStyle(probe).color.match(/[\d.]+/g) || [255, 255, 255]).slice(0, 3).map(Number);
    probe.remove();
    this.root.dataset.theme = parts.every((part) => part < 128) ? "dark" : "light";
  }

  fit() {
    const narrow = this.root.clientWidth < 620;
    for (const view of Object.values(this.views)) {
      const width = Math.round(view.figure.clientWidth);
      if (!width) continue;
      const [left, bottom, right, top] = view.box;
      const natural = (width * (top - bottom)) / (right - left);
      view.resize(width, Math.round(Math.min(natural, narrow ? 320 : 460)));
    }
    this.marked.forEach(([marks, worst]) => this.nameMarks(marks, worst));
    this.start();
  }
}

const HELD = new WeakMap();

export default function (component) {
  const { data, parentElement, setStateValue } = component;
  const root = parentElement.querySelector(".steering");
  let view = HELD.get(root);
  if (view && view.scene.mark === data.scene.mark) {
    // The same bike: the sliders stay where the visitor has them, exact figures take the place of others.
    view.figures = data.figures;
    view.colour();
    view.follow(true);
  } else {
    if (view) view.stop();
    view = new Steering(root, data, (pose) => setStateValue("pose", pose));
    HELD.set(root, view);
  }
  return () => { if (!root.isConnected) view.stop(); };
}
