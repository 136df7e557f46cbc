"""axe-core on a page of the browser, and what no rule of it measures: the size of each target, and the width."""

from __future__ import annotations

import shutil
import subprocess
import tarfile
import tempfile
from functools import cache
from pathlib import Path

import pytest

from tests.web.browser.conftest import Browser

PACKAGE = "axe-core@4.14.1"
THUMB_PX = 48
FAULTS = """
const found = await axe.run(document, {
  resultTypes: ["violations"],
  rules: { "color-contrast-enhanced": { enabled: true }, "target-size": { enabled: true } },
});
return found.violations.flatMap((one) => one.nodes.map((node) =>
  `${one.impact}: ${one.id}: ${node.html.slice(0, 120)}: ${node.failureSummary.replace(/\\s+/g, " ")}`));
"""
SMALL = """
const shown = [...document.querySelectorAll("a, button, input, select, textarea, summary")].filter(
  (one) => one.checkVisibility() && one.type !== "hidden" && !one.closest(".skip, .xterm"));
return shown.map((one) => [one, (one.type === "checkbox" ? one.closest("label") : one).getBoundingClientRect()])
  .filter(([, box]) => Math.min(box.width, box.height) < %d)
  .map(([one, box]) => `${one.outerHTML.slice(0, 120)}: ${box.width} by ${box.height} px`);
"""
WIDE = """
const wide = [...document.body.querySelectorAll("*")].filter((one) => !one.closest(".skip, .xterm"))
  .filter((one) => one.checkVisibility() && one.getBoundingClientRect().right > innerWidth + 1);
const far = document.documentElement.scrollWidth > %d ? ["the page scrolls sideways"] : [];
return [...far, ...wide.map((one) => `past the edge: ${one.outerHTML.slice(0, 120)}`)];
"""


@cache
def source() -> str:
    """Its script, of the npm package. If it cannot be fetched the test fails, and one line says so."""
    folder = Path(tempfile.mkdtemp(prefix="finishlog-axe-"))
    try:
        subprocess.run(
            ["npm", "pack", "--silent", "--pack-destination", folder, PACKAGE],
            check=True, cwd=folder, capture_output=True, timeout=120,
        )  # fmt: skip
        with tarfile.open(next(folder.glob("*.tgz"))) as packed:
            script = packed.extractfile("package/axe.min.js")
            assert script is not None
            return script.read().decode()
    except (OSError, subprocess.SubprocessError, StopIteration) as error:
        pytest.fail(f"{PACKAGE} cannot be fetched with npm: {error}"[:300], pytrace=False)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def faults(phone: Browser) -> list[str]:
    """All that is wrong with the page that is open, a line each."""
    phone.driver.execute_script(source())
    return [
        *phone.asked(FAULTS),
        *phone.driver.execute_script(SMALL % THUMB_PX),
        *phone.driver.execute_script(WIDE % phone.size[0]),
    ]
