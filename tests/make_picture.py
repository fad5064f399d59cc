"""Makes the picture of the screen in README, from the sample car.

python -m tests.make_picture
"""

from __future__ import annotations

import asyncio
import re
import shutil
import tempfile
from pathlib import Path

from teardown.car.clock import SystemClock
from teardown.car.door import Car, open_car
from teardown.packs.shipped import sample_car
from teardown.screens.app import WalkApp
from teardown.screens.guard import Guard

PICTURE = Path(__file__).parent.parent / ".pictures" / "walk-card.svg"
STEP = "headliner.grab-handles"


async def _shot(car: Car) -> str:
    app = WalkApp(car, "Ines", Guard(guard_s=0))
    refs = [step.ref for step in car.folded.route.steps]
    async with app.run_test(size=(60, 18)) as pilot:
        app.desk.position = refs.index(STEP)
        await pilot.press("down")
        await pilot.press("up")
        return app.export_screenshot(title="teardown")


def main() -> None:
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "car"
        shutil.copytree(sample_car(), folder)
        with open_car(folder, SystemClock(), write=True, rehearsal=True) as car:
            car.enter("resumed", {"power": "no", "doors": "no", "people": "no"}, "Ines")
            svg = asyncio.run(_shot(car))
    PICTURE.parent.mkdir(exist_ok=True)
    PICTURE.write_text(re.sub(r"@font-face \{.*?\}\n?", "", svg, flags=re.DOTALL))


if __name__ == "__main__":
    main()
