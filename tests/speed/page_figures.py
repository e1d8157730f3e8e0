"""What the page takes on this machine: run `python -m speed.page_figures` from the folder of the tests.

Prints a table: seconds from the command to the first useful view, from an edit to its new lengths, frames drawn while
the slider of the steering view is dragged for two seconds, and memory before and after 200 interactions.
"""

from __future__ import annotations

import re
import statistics
import time
from pathlib import Path
from typing import Any

from browsing import DESKTOP, Served, Visit, chromium, drag, rest, serving, visiting

from ropewalk.bike.fleet import fleet

BIKES = {bike.name: bike for bike in fleet()}
# The address follows when a page is made whole, and an edited bike stands in it.
_LINK = "location.search"


def first_view(browser: Any) -> float:
    """Return seconds from the command to the question that a mechanic answers first."""
    begun = time.perf_counter()
    with serving() as page:
        tab = browser.new_context().new_page()
        tab.goto(page.address, wait_until="commit")
        tab.get_by_role("heading", name="Which lever works which brake?").wait_for()
        taken = time.perf_counter() - begun
        tab.context.close()
    return taken


def edit(visit: Visit, bike: str) -> float:
    """Return seconds from changed spacers to the lengths it gives; a value not seen before each time."""
    visit.turn_to("Bike")
    visit.pick(BIKES[bike])
    visit.confirm_levers()
    visit.tab.get_by_role("radio", name="Cockpit").click()
    visit.settle()
    field = visit.tab.get_by_label(re.compile("^Spacers, "))
    taken = []
    for _ in range(5):
        before = visit.tab.evaluate(_LINK)
        field.fill(str(float(field.input_value() or 0.0) + 5.0))
        begun = time.perf_counter()
        field.press("Enter")
        visit.tab.wait_for_function(f"before => {_LINK} !== before", arg=before)
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken)


def memory(served: Served) -> float:
    """Return what the server holds in memory [MB]."""
    status = Path(f"/proc/{served.process.pid}/status").read_text(encoding="ascii")
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    assert found
    return int(found[1]) / 1000.0


def interact(visit: Visit, times: int) -> None:
    """Pick bikes, confirm, turn pages: so many interactions."""
    names = ("touring", "city", "track", "hardtail")
    done = 0
    while done < times:
        visit.list_of(BIKES[names[done // 4 % 4]])
        visit.turn_to("Steering")
        done += 4


def main() -> None:
    """Measure and print."""
    with chromium() as browser:
        first_view(browser)
        print(f"first useful view  {statistics.median(first_view(browser) for _ in range(3)):.1f} s")
        with serving() as page, visiting(browser, page.address) as come:
            visit = come(DESKTOP)
            for bike in ("city", "touring", "hardtail", "trail", "folding"):
                print(f"edit, {bike:<12}  {edit(visit, bike):.2f} s")
            for bike in ("touring", "trail", "folding"):
                visit = come(DESKTOP, "steering", f"?bike={bike}")
                rest(visit)
                drawn, offered, _ = drag(visit, 2.0)
                print(f"frames, {bike:<10} {drawn} in a drag of 2 s, of {offered} that the browser offers")
        with serving() as page, visiting(browser, page.address) as come:
            visit = come(DESKTOP)
            interact(visit, 40)
            before = memory(page)
            interact(visit, 200)
            print(f"memory             {before:.0f} MB, after 200 interactions {memory(page):.0f} MB")


if __name__ == "__main__":
    main()
