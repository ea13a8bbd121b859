"""``python -m tests.readme_pictures``: the README's pictures, made from the demo.

Sets the demo up in a folder of its own, serves it, and writes home and cost sheet as a phone
and a desk show them into static/readme/, packed small.
"""

import io
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from tests.__main__ import ROOT, find_chromium

FOLDER = ROOT / "static/readme"
PORT = 8791
SIZES = {"phone": (390, 844), "desk": (1280, 800)}
SCREENS = {"home": "", "cost-sheet": "cost-sheet/"}
# A phone's picture is shown at its own size, a desk's at half of it.
SHOWN = {"phone": 390, "desk": 960}
PERSON = re.compile(r"“(\w+)” with the password “([\w-]+)”")


def take(page: Page, address: str, width: int, to: Path) -> None:
    """One screen as WebP."""
    page.goto(address)
    picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    height = picture.height * width // picture.width
    picture.resize((width, height), Image.Resampling.LANCZOS).save(to, quality=70, method=6)


def main() -> None:
    """Serve the demo, look at it, stop it."""
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        own = {"DEMO_FOLDER": place}
        server = subprocess.Popen(
            [sys.executable, "manage.py", "demo", "--port", str(PORT)],
            cwd=ROOT, env=os.environ | own, stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL, text=True,
        )  # fmt: skip
        try:
            assert server.stdout
            said = ""
            while "Stop with" not in said:
                line = server.stdout.readline()
                if not line:
                    raise SystemExit("The demo could not be served.")
                said += line
            name, password = PERSON.search(said).groups()  # type: ignore[union-attr]
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(
                    executable_path=find_chromium(), args=["--no-sandbox"]
                )
                for size, (width, height) in SIZES.items():
                    page = browser.new_page(viewport={"width": width, "height": height})
                    page.goto(f"http://127.0.0.1:{PORT}/")
                    page.get_by_label("Username").fill(name)
                    page.get_by_label("Password").fill(password)
                    page.get_by_role("button", name="Sign in").first.click()
                    page.locator(".card h2 a").first.click()
                    page.wait_for_url("**/builds/*/")
                    home = page.url
                    for screen, tail in SCREENS.items():
                        take(page, home + tail, SHOWN[size], FOLDER / f"{screen}-{size}.webp")
        finally:
            server.terminate()
            server.wait(20)


if __name__ == "__main__":
    main()
