"""Write `elastica_table.json`: planar elasticas in closed form, computed with 40 digits.

Run it as ``python tests/exact/elastica_table.py``; it needs mpmath only and nothing of the package.

A rod of unit length and stiffness in a plane, pushed along -x with the force P at its end, obeys theta'' = -P sin theta
for the angle theta of its tangent. With the Jacobi functions of modulus k and u = u0 + w s (Love, A Treatise on the
Mathematical Theory of Elasticity, 4th ed., articles 262 and 263):

* with inflections: sin(theta/2) = k sn u, w = sqrt P, curvature 2 k w cn u,
  x = 2 (eps u - eps u0) / w - s, y = 2 k (cn u0 - cn u) / w;
* without: theta = 2 am u, w = sqrt P / k, curvature 2 w dn u,
  x = ((k^2 - 2) s + 2 (eps u - eps u0) / w) / k^2, y = 2 (dn u0 - dn u) / (w k^2);

where eps u is Jacobi's epsilon, the integral of dn^2. A rod clamped at both ends in line is four quarter waves with
w = 4 K and u0 = 0; its end shortening is d = 2 - 2 E/K.
"""

import json
from itertools import pairwise
from pathlib import Path

import mpmath as mp

mp.mp.dps = 40
DIGITS = 30
STEPS = 16
IN_LINE = ["0.01", "0.02", "0.05", "0.1", "0.15", "0.2", "0.25", "0.3", "0.35", "0.4", "0.5", "0.6", "0.7"]
# Modulus, u0 and u1 - u0 in quarter periods, whether it has inflections. Named for the look of the curve.
OBLIQUE = {
    "shallow bow": ("0.30", "-0.50", "1.00", True),
    "bow": ("0.60", "-0.55", "1.20", True),
    "lopsided bow": ("0.70", "-0.90", "1.30", True),
    "deep bow": ("0.80", "-0.80", "1.60", True),
    "hook": ("0.85", "-1.00", "1.30", True),
    "shallow S": ("0.35", "0.30", "1.30", True),
    "S": ("0.60", "0.20", "1.50", True),
    "lopsided S": ("0.75", "0.50", "1.20", True),
    "long S": ("0.70", "0.10", "1.80", True),
    "bight": ("0.90", "-0.60", "1.10", False),
    "open arc": ("0.60", "-0.40", "0.70", False),
    "three quarter loop": ("0.70", "-0.75", "1.50", False),
}


def integral(function: str, u0: mp.mpf, u1: mp.mpf, m: mp.mpf) -> mp.mpf:
    """Integrate dn (the amplitude) or dn² (Jacobi's epsilon) from u0 to u1."""
    power = {"am": 1, "eps": 2}[function]
    return mp.quad(lambda v: mp.ellipfun("dn", v, m=m) ** power, [u0, u1])


def curve(name: str, k: mp.mpf, u0: mp.mpf, span: mp.mpf, *, inflected: bool) -> dict[str, object]:
    """Tabulate one elastica of unit length."""
    m, w = k * k, span
    eps, angle = mp.mpf(0), 2 * integral("am", mp.mpf(0), u0, m)
    rows, before = [], u0
    for step in range(STEPS + 1):
        s = mp.mpf(step) / STEPS
        u = u0 + w * s
        sn, cn, dn = (mp.ellipfun(f, u, m=m) for f in ("sn", "cn", "dn"))
        eps += integral("eps", before, u, m)
        if inflected:
            angle, bend = 2 * mp.asin(k * sn), 2 * k * w * cn
            x, y = 2 * eps / w - s, 2 * k * (mp.ellipfun("cn", u0, m=m) - cn) / w
        else:
            angle, bend = angle + 2 * integral("am", before, u, m), 2 * w * dn
            x, y = ((m - 2) * s + 2 * eps / w) / m, 2 * (mp.ellipfun("dn", u0, m=m) - dn) / (w * m)
        rows.append((x, y, angle, bend))
        before = u
    force = w**2 if inflected else w**2 * m
    # Half the integral of curvature squared, with cn² = (dn² - 1 + k²) / k².
    energy = 2 * w * (eps - (1 - m) * span) if inflected else 2 * w * eps
    return {
        "name": name,
        "modulus": text(k),
        "points": [[text(x), text(y)] for x, y, _, _ in rows],
        "angles": [text(a) for _, _, a, _ in rows],
        "curvatures": [text(b) for _, _, _, b in rows],
        "energy": text(energy),
        "end_force": [text(-force), "0"],
        "turn": text(total_turn(k, u0, span, inflected=inflected)),
        "greatest_curvature": text(greatest(k, u0, span, inflected=inflected)),
    }


def total_turn(k: mp.mpf, u0: mp.mpf, span: mp.mpf, *, inflected: bool) -> mp.mpf:
    """Add up the angle turned through, from inflection to inflection."""
    m = k * k
    if not inflected:
        return 2 * integral("am", u0, u0 + span, m)
    quarter = mp.ellipk(m)
    turns = [u0, u0 + span]
    turns += [n * quarter for n in range(-9, 10, 2) if u0 < n * quarter < u0 + span]
    angles = [2 * mp.asin(k * mp.ellipfun("sn", u, m=m)) for u in sorted(turns)]
    return mp.fsum(abs(b - a) for a, b in pairwise(angles))


def greatest(k: mp.mpf, u0: mp.mpf, span: mp.mpf, *, inflected: bool) -> mp.mpf:
    """Find the greatest curvature: at an end, or at an even number of quarter periods."""
    m = k * k
    quarter = mp.ellipk(m)
    places = [u0, u0 + span] + [n * quarter for n in range(-8, 9, 2) if u0 < n * quarter < u0 + span]
    if inflected:
        return max(2 * k * span * abs(mp.ellipfun("cn", u, m=m)) for u in places)
    return max(2 * span * mp.ellipfun("dn", u, m=m) for u in places)


def text(value: mp.mpf) -> str:
    """Print a number with the digits kept."""
    return mp.nstr(value, DIGITS, min_fixed=-5, max_fixed=5)


def modulus_for(shortening: mp.mpf) -> mp.mpf:
    """Find the modulus whose four quarter waves are shortened by the given share of the length."""
    return mp.findroot(
        lambda k: 2 - 2 * mp.ellipe(k * k) / mp.ellipk(k * k) - shortening, (mp.mpf("0.01"), mp.mpf("0.99")), "anderson"
    )


def main() -> None:
    """Write the table beside this file."""
    in_line = []
    for shortening in IN_LINE:
        k = modulus_for(mp.mpf(shortening))
        case = curve(f"in line, {shortening}", k, mp.mpf(0), 4 * mp.ellipk(k * k), inflected=True)
        in_line.append({"shortening": shortening, **case})
    oblique = []
    for name, (k, begin, span, inflected) in OBLIQUE.items():
        quarter = mp.ellipk(mp.mpf(k) ** 2)
        oblique.append(curve(name, mp.mpf(k), mp.mpf(begin) * quarter, mp.mpf(span) * quarter, inflected=inflected))
    table = {"digits": DIGITS, "in_line": in_line, "oblique": oblique}
    Path(__file__).with_suffix(".json").write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
