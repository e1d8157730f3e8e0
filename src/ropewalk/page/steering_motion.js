// How the bike moves: bodies on their joints, paths between the poses they were sent for, and what is seen of them.
// Everything is millimetres in the bike's own axes: x forward, y up, z to the rider's right.

/** Return the numbers of a packed list of points, in millimetres. */
function unpacked(text) {
  const bytes = Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
  const view = new DataView(bytes.buffer);
  const numbers = new Float32Array(bytes.length / 2);
  for (let at = 0; at < numbers.length; at += 1) numbers[at] = view.getInt16(2 * at, true) / 10;
  return numbers;
}

/** Return a joint's own motion for a value of its coordinate: nine numbers that turn and three that shift. */
function motionOf(joint, value) {
  let amount = joint.sign * value;
  const [x, y, z] = joint.axis;
  if (joint.kind === "slide") return [1, 0, 0, 0, 1, 0, 0, 0, 1, amount * x, amount * y, amount * z];
  if (joint.kind === "swing") {
    const [length, start] = joint.arm;
    amount = Math.asin(Math.sin(start) + amount / length) - start;
  }
  // Rodrigues' formula
  const s = Math.sin(amount), c = 1 - Math.cos(amount);
  const turn = [
    1 + c * (x * x - 1), -s * z + c * x * y, s * y + c * x * z,
    s * z + c * x * y, 1 + c * (y * y - 1), -s * x + c * y * z,
    -s * y + c * x * z, s * x + c * y * z, 1 + c * (z * z - 1),
  ];
  const [p, q, r] = joint.point;
  return [
    ...turn,
    p - (turn[0] * p + turn[1] * q + turn[2] * r),
    q - (turn[3] * p + turn[4] * q + turn[5] * r),
    r - (turn[6] * p + turn[7] * q + turn[8] * r),
  ];
}

/** Return the motion that does `inner` first and `outer` after it. */
function after(outer, inner) {
  const made = new Array(12);
  for (let row = 0; row < 3; row += 1) {
    for (let column = 0; column < 3; column += 1) {
      made[3 * row + column] =
        outer[3 * row] * inner[column] + outer[3 * row + 1] * inner[3 + column] + outer[3 * row + 2] * inner[6 + column];
    }
    made[9 + row] =
      outer[3 * row] * inner[9] + outer[3 * row + 1] * inner[10] + outer[3 * row + 2] * inner[11] + outer[9 + row];
  }
  return made;
}

const STILL = [1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0];

/** Return where a body is in a pose (values of the coordinates by name, in radians and millimetres). */
function placed(joints, body, pose) {
  let motion = STILL;
  for (let joint = joints.find((one) => one.body === body); joint; ) {
    motion = after(motionOf(joint, pose[joint.coordinate] || 0), motion);
    const parent = joint.parent;
    joint = joints.find((one) => one.body === parent);
  }
  return motion;
}

/** Carry points (x, y, z, x, y, z, ...) along with a body. */
function carried(motion, points, into) {
  const found = into && into.length === points.length ? into : new Float32Array(points.length);
  const [a, b, c, d, e, f, g, h, i, p, q, r] = motion;
  for (let at = 0; at < points.length; at += 3) {
    const x = points[at], y = points[at + 1], z = points[at + 2];
    found[at] = a * x + b * y + c * z + p;
    found[at + 1] = d * x + e * y + f * z + q;
    found[at + 2] = g * x + h * y + i * z + r;
  }
  return found;
}

/** Return a path at a pose, gone straight between the poses it was sent for. */
function between(grid, pose) {
  const size = 3 * grid.count;
  let corners = [[0, 1]];
  for (const [name, values] of grid.axes) {
    const value = pose[name] || 0;
    let low = 0;
    while (low < values.length - 2 && values[low + 1] <= value) low += 1;
    const share = Math.min(Math.max((value - values[low]) / (values[low + 1] - values[low]), 0), 1);
    corners = corners.flatMap(([place, weight]) => [
      [place * values.length + low, weight * (1 - share)],
      [place * values.length + low + 1, weight * share],
    ]);
  }
  const found = new Float32Array(size);
  for (const [place, weight] of corners) {
    if (weight) for (let at = 0; at < size; at += 1) found[at] += weight * grid.numbers[place * size + at];
  }
  return found;
}

/** Return the convex outline of points in the plane (x, y, x, y, ...). */
function hullOf(flat) {
  const order = [];
  for (let at = 0; at < flat.length; at += 2) order.push(at);
  order.sort((a, b) => flat[a] - flat[b] || flat[a + 1] - flat[b + 1]);
  const half = (way) => {
    const kept = [];
    for (const at of way) {
      while (kept.length > 1) {
        const one = kept[kept.length - 2], two = kept[kept.length - 1];
        const cross =
          (flat[two] - flat[one]) * (flat[at + 1] - flat[one + 1]) -
          (flat[two + 1] - flat[one + 1]) * (flat[at] - flat[one]);
        if (cross > 0) break;
        kept.pop();
      }
      kept.push(at);
    }
    kept.pop();
    return kept;
  };
  const outline = [...half(order), ...half([...order].reverse())];
  return outline.flatMap((at) => [flat[at], flat[at + 1]]);
}

/** Return the radius of the circle through each point of a path and its neighbours; infinite where straight. */
function radiiOf(points) {
  const count = points.length / 3;
  const found = new Float32Array(count).fill(Infinity);
  const gap = (a, b) => Math.hypot(points[a] - points[b], points[a + 1] - points[b + 1], points[a + 2] - points[b + 2]);
  for (let at = 1; at < count - 1; at += 1) {
    const a = 3 * (at - 1), b = 3 * at, c = 3 * (at + 1);
    const one = gap(a, b), two = gap(b, c), three = gap(a, c);
    const half = (one + two + three) / 2;
    const area = Math.sqrt(Math.max(half * (half - one) * (half - two) * (half - three), 0));
    if (area > 1e-3) found[at] = (one * two * three) / (4 * area);
  }
  found[0] = found[1];
  found[count - 1] = found[count - 2];
  return found;
}
