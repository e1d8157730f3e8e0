// The picture: side view and cockpit from above as SVG, drawn again for every pose that is shown.

const SVG = "http://www.w3.org/2000/svg";

function shape(name, css, into) {
  const made = document.createElementNS(SVG, name);
  if (css) made.setAttribute("class", css);
  if (into) into.append(made);
  return made;
}

/** Where a path is bent nearly as tight as anywhere on it, it is marked too. */
const NEARLY = 1.4;
/** How far a label stays from the bend it points to. */
const CLEAR = 34;

const tenth = (number) => Math.round(number * 10) / 10;

/** One view: where it looks from, what it holds, and how millimetres lie on the screen. */
class View {
  constructor(scene, name, eye, svg) {
    this.scene = scene;
    this.eye = eye;
    this.svg = svg;
    this.name = name;
    this.box = scene.boxes[name === "top" ? "top" : "whole"];
    this.things = scene.things[name].map((thing) => ({ ...thing, numbers: unpacked(thing.points) }));
    this.back = shape("g", "", svg);
    this.lines = shape("g", "", svg);
    this.over = shape("g", "", svg);
    if (name === "side") this.ground = shape("path", "ground", this.back);
    for (const thing of this.things) this.build(thing);
    this.spans = scene.spans.map((span, at) => this.buildSpan(span, at));
    this.order(name === "top" ? 1 : 2);
    this.stations = scene.stations.map((station) => shape("circle", "station", this.over));
    this.labels = scene.pieces.map((piece) => this.buildLabel(piece));
    this.folded = false;
  }

  build(thing) {
    thing.group = shape("g", `thing ${thing.role}`, this.back);
    const stroked = ["rod", "ring", "wires"].includes(thing.kind);
    if (thing.kind === "ball") thing.parts = [shape("circle", "filled", thing.group)];
    else if (!stroked) thing.parts = [shape("path", "filled", thing.group)];
    else if (thing.kind === "wires") thing.parts = [shape("path", "wire", thing.group)];
    else thing.parts = [shape("path", "edge", thing.group), shape("path", "core", thing.group)];
    if (thing.round) thing.group.classList.add("round");
  }

  buildSpan(span, at) {
    const css = `${span.role} ${span.inside ? "inside" : ""} line-${span.line % 6}`;
    const group = shape("g", css, this.lines);
    return {
      at, group,
      halo: shape("path", "halo", group),
      band: shape("path", "band", group),
      stroke: shape("path", "stroke", group),
    };
  }

  /** Far lines first: by how far away they lie straight ahead. */
  order(axis) {
    const depth = (span) => {
      const points = this.scene.spans[span.at].home;
      let sum = 0;
      for (let at = axis; at < points.length; at += 3) sum += points[at];
      return sum / (points.length / 3);
    };
    [...this.spans].sort((a, b) => depth(a) - depth(b)).forEach((span) => this.lines.append(span.group));
  }

  buildLabel(piece) {
    const group = shape("g", `label line-${piece.line % 6}`, this.over);
    const leader = shape("path", "leader", group);
    const spot = shape("rect", "spot", group);
    const plate = shape("rect", "plate", group);
    const first = shape("text", "tag", group), second = shape("text", "limit", group);
    return { piece, group, leader, spot, plate, first, second, side: null, told: null };
  }

  resize(width, height) {
    this.width = width;
    this.height = height;
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.svg.style.height = `${height}px`;
    const [left, bottom, right, top] = this.box;
    this.scale = Math.min(width / (right - left), height / (top - bottom));
    this.right = (width - this.scale * (right - left)) / 2 - this.scale * left;
    this.up = (height + this.scale * (top - bottom)) / 2 + this.scale * bottom;
    for (const thing of this.things) this.thicken(thing);
    this.spans.forEach((span) => {
      const own = this.scene.spans[span.at];
      const least = own.role === "housing" ? 3 : own.role === "rigid" ? 2.4 : 1.4;
      const wide = Math.min(Math.max(own.width * this.scale, least), 9);
      span.wide = wide;
      span.stroke.style.strokeWidth = wide;
      span.halo.style.strokeWidth = wide + 2.6;
    });
    this.labels.forEach((label) => { label.side = null; });
    this.stale = true;
  }

  thicken(thing) {
    if (thing.parts.length < 2) return;
    const wide = Math.max(thing.width * this.scale, 1);
    thing.parts[0].style.strokeWidth = wide + 1;
    thing.parts[1].style.strokeWidth = Math.max(wide - 1, 0.6);
  }

  /** Put points of the bike (x, y, z, ...) on the screen (x, y, ...). */
  seen(points) {
    const [across, upwards] = this.eye;
    const flat = new Array((points.length / 3) * 2);
    for (let at = 0, to = 0; at < points.length; at += 3, to += 2) {
      flat[to] = this.right + this.scale * points[at + across];
      flat[to + 1] = this.up - this.scale * points[at + upwards];
    }
    return flat;
  }

  way(flat, closed) {
    let text = "";
    for (let at = 0; at < flat.length; at += 2) text += `${at ? "L" : "M"}${tenth(flat[at])} ${tenth(flat[at + 1])}`;
    return closed ? `${text}Z` : text;
  }

  /** Draw a pose: where the bodies are, which of them moved, the spans' points, and what is to be told of pieces. */
  draw(bodies, moved, spans, told, folded, ground) {
    if (folded !== this.folded) this.restack(folded);
    if (this.ground) this.ground.setAttribute("d", this.way(this.seen(ground)));
    for (const thing of this.things) if (this.stale || moved.has(thing.body)) this.drawThing(thing, bodies[thing.body]);
    for (const span of this.spans) this.drawSpan(span, spans[span.at], told);
    this.scene.stations.forEach((station, at) => {
      if (!this.stale && !moved.has(station.body)) return;
      const [x, y] = this.seen(carried(bodies[station.body], station.at));
      this.stations[at].setAttribute("cx", tenth(x));
      this.stations[at].setAttribute("cy", tenth(y));
      this.stations[at].setAttribute("r", this.scale > 0.5 ? 3.2 : 2.2);
    });
    this.drawLabels(spans, told);
    this.stale = false;
  }

  /** Folded, the front half lies beside the rear one: all of it nearer. Unfolded, far things come first. */
  restack(folded) {
    this.folded = folded;
    const order = folded ? [...this.things].sort((a, b) => a.ahead - b.ahead) : this.things;
    order.forEach((thing) => this.back.append(thing.group));
    if (this.name !== "top") return;
    // the cockpit goes to where the bike folds it
    this.box = this.scene.boxes[folded ? "folded" : "top"];
    this.resize(this.width, this.height);
  }

  drawThing(thing, motion) {
    thing.world = carried(motion, thing.numbers, thing.world);
    let flat = this.seen(thing.world);
    if (thing.kind === "ball") {
      thing.parts[0].setAttribute("cx", tenth(flat[0]));
      thing.parts[0].setAttribute("cy", tenth(flat[1]));
      thing.parts[0].setAttribute("r", tenth((thing.width / 2) * this.scale));
      return;
    }
    if (thing.kind === "hull") flat = hullOf(flat);
    let text = "";
    if (thing.kind === "wires") {
      for (let at = 0; at < flat.length; at += 4) text += this.way(flat.slice(at, at + 4));
    } else text = this.way(flat, !["rod"].includes(thing.kind));
    thing.parts.forEach((part) => part.setAttribute("d", text));
  }

  drawSpan(span, points, told) {
    const text = this.way(this.seen(points));
    span.halo.setAttribute("d", text);
    span.stroke.setAttribute("d", text);
    const mark = told.spans[span.at];
    if (span.mark !== mark.grade) {
      span.mark = mark.grade;
      span.band.setAttribute("class", `band ${mark.grade}`);
      const wider = { look: 5, near: 7, stop: 10 }[mark.grade] || 0;
      span.band.style.strokeWidth = span.wide + wider;
    }
    if (mark.grade) span.band.setAttribute("d", this.tightPart(points, mark));
    else span.band.removeAttribute("d");
  }

  /** Return the part of a path that is bent close to its limit, or most. */
  tightPart(points, mark) {
    const radii = radiiOf(points);
    const bound = Math.max(Math.min(...radii) * NEARLY, mark.limit);
    const flat = this.seen(points);
    let text = "", open = false;
    for (let at = 0; at < radii.length; at += 1) {
      const tight = radii[at] <= bound;
      if (tight) text += `${open ? "L" : "M"}${tenth(flat[2 * at])} ${tenth(flat[2 * at + 1])}`;
      open = tight;
    }
    return text;
  }

  drawLabels(spans, told) {
    const shown = [];
    for (const label of this.labels) {
      const found = this.anchor(label.piece, spans, told);
      const display = found ? "" : "none";
      if (label.group.style.display !== display) label.group.style.display = display;
      if (!found) continue;
      [label.x, label.y] = found.at;
      this.writeLabel(label, found.mark);
      shown.push(label);
    }
    this.putLabels(shown);
  }

  /** Return where the label of a piece points to in this view: its gravest bend, or else the middle of a loop. */
  anchor(piece, spans, told) {
    const marks = piece.spans.map((at) => told.spans[at]);
    const order = { stop: 0, near: 1, look: 2, "": 3 };
    const still = (mark) => this.scene.spans[mark.at].path.axes.length === 0;
    marks.sort((a, b) => order[a.grade] - order[b.grade] || b.loop - a.loop || still(a) - still(b));
    for (const mark of marks) {
      const points = spans[mark.at], flat = this.seen(points);
      let place = Math.floor(points.length / 6);
      if (mark.grade) {
        const radii = radiiOf(points);
        place = radii.indexOf(Math.min(...radii));
      }
      const [x, y] = [flat[2 * place], flat[2 * place + 1]];
      if (x > 0 && y > 0 && x < this.width && y < this.height) return { mark, at: [x, y] };
    }
    return null;
  }

  writeLabel(label, mark) {
    const told = `${mark.grade}|${mark.words}|${mark.beside}`;
    if (label.told === told) return;
    label.told = told;
    label.group.setAttribute("class", `label line-${label.piece.line % 6} ${mark.grade}`);
    label.first.textContent = mark.grade ? `${label.piece.tag}  ${mark.words}` : label.piece.tag;
    label.second.textContent = mark.grade ? mark.beside : "";
    const letters = Math.max(label.first.textContent.length * 8.6, label.second.textContent.length * 7.2);
    label.wide = letters + 14;
    label.high = mark.grade ? 40 : 24;
    label.plate.setAttribute("width", label.wide);
    label.plate.setAttribute("height", label.high);
  }

  /** Put labels at the edges, each to the side it was on first, in an order that keeps while things move. */
  putLabels(shown) {
    const fresh = shown.filter((label) => label.side === null);
    fresh.forEach((label) => {
      label.side = label.x < this.width / 2 ? "left" : "right";
      label.rank = label.y;
    });
    for (const side of ["left", "right"]) {
      const column = shown.filter((label) => label.side === side).sort((a, b) => a.rank - b.rank);
      let free = 4;
      for (const label of column) {
        label.top = Math.max(this.wantedTop(label, side), free);
        free = label.top + label.high + 5;
      }
      let floor = this.height - 4;
      [...column].reverse().forEach((label) => {
        label.top = Math.min(label.top, floor - label.high);
        floor = label.top - 5;
      });
      column.forEach((label) => this.putLabel(label, side));
    }
  }

  /** Beside the place it points to; over it, or under it, where the label would cover that. */
  wantedTop(label, side) {
    const reach = label.wide + 34;
    if (side === "left" ? label.x > reach : label.x < this.width - reach) return label.y - label.high / 2;
    const over = label.y - label.high - CLEAR;
    return over > 4 ? over : label.y + CLEAR;
  }

  putLabel(label, side) {
    const left = side === "left" ? 4 : this.width - 4 - label.wide;
    const top = tenth(label.top), edge = side === "left" ? left + label.wide : left;
    label.plate.setAttribute("x", left);
    label.plate.setAttribute("y", top);
    label.first.setAttribute("x", left + 7);
    label.first.setAttribute("y", top + 17);
    label.second.setAttribute("x", left + 7);
    label.second.setAttribute("y", top + 33);
    label.leader.setAttribute("d", `M${tenth(edge)} ${tenth(top + label.high / 2)}L${tenth(label.x)} ${tenth(label.y)}`);
    label.spot.setAttribute("x", tenth(label.x - 4));
    label.spot.setAttribute("y", tenth(label.y - 4));
    label.spot.setAttribute("width", 8);
    label.spot.setAttribute("height", 8);
  }
}
