"""People who go on writing until the server dies under them."""

import random
import re
import secrets
import threading
from decimal import Decimal
from typing import Any

from tests.photo_files import jpeg
from tests.views.screens import Page

from .book import Act, Book
from .served import Unanswered, Visitor

ROWS = 700
DAY = "2026-05-04"
ENTRIES = re.compile(r"/builds/\d+/history/(\d+)/")


class Person(threading.Thread):
    """Does one kind of thing, again and again, with records of its own."""

    lock = threading.Lock()
    numbers = iter(range(1, 10**9))

    def __init__(
        self,
        book: Book,
        builds: dict[str, int],
        visitor: Visitor,
        does: str,
        mine: list[str],
        seed: int,
    ):
        super().__init__(daemon=True)
        self.book, self.builds, self.visitor, self.does = book, builds, visitor, does
        self.chance = random.Random(seed)
        self.at = f"/builds/{builds['here']}"
        self.stop = threading.Event()
        self.began = threading.Event()
        self.mine = mine
        self.broken: list[str] = []

    def run(self) -> None:
        """Until the server is gone."""
        try:
            while not self.stop.is_set():
                getattr(self, self.does)()
        except Unanswered:
            pass
        except Exception as error:
            self.broken.append(f"{self.does}: {error!r}")

    def number(self) -> int:
        """One that nobody else has."""
        with self.lock:
            return next(self.numbers)

    def send(self, act: Act) -> str:
        """Do it; where it leads. Raises Unanswered, and then the book holds it open."""
        self.began.set()
        try:
            answer = self.visitor.post(act.path, act.fields, act.files)
        except Unanswered:
            with self.lock:
                self.book.open.append(act)
            raise
        if answer.status != 302 or "/sign-in/" in answer.to:
            # Led to the sign-in, nothing was recorded, though that is a 302 as well.
            said = (act.kind, answer.status, answer.to, Page(answer.text).text[:1500])
            raise AssertionError(said)
        with self.lock:
            self.book.note(act)
        return answer.to

    # What one can do.

    def log(self, with_photo: bool = False) -> None:
        """The short form; now and then something new, now and then with a photo."""
        n = self.number()
        price = f"{Decimal(n) / 100 + 100:.2f}"
        key = f"purchase of {price}"
        what, changes, files = "Board", {}, []
        if n % 4 == 0:
            what = f"Plank {n}"
            changes[f"component {what}"] = (None, 1)
        if with_photo or n % 5 == 0:
            files = [("photo", "pile.jpg", jpeg((240, 160)))]
            changes[f"photo in {price}"] = (None, 1)
        value = {"lines": [[what, f"{n} ft"]], "charges": 0, "total": price, "changes": 1}
        fields = {
            "what": what, "quantity_text": f"{n} ft", "price": price, "price_for": "line",
            "source": "salvage", "state": "received", "bought_on": DAY, "supplier": "Yard",
        }  # fmt: skip
        changes[key] = (None, value)
        to = self.send(
            Act("log", f"{self.at}/purchases/log/", marked(fields), changes, files, may_repeat=True)
        )
        self.book.keys[key] = int(to.split("/")[4])
        self.mine.append(key)

    def purchase(self) -> None:
        """The long form: two lines and a charge."""
        n = self.number()
        page = Page(self.visitor.get(f"{self.at}/purchases/add/").text)
        price = f"{Decimal(n) / 100 + 100:.2f}"
        total = f"{Decimal(price) + Decimal('40.55'):.2f}"
        typed = {
            # Ends in no digit: the short form would go on counting from it, into the next one.
            "number": f"N{n}N", "bought_on": DAY, "state": "received", "supplier": "Depot",
            "charges-0-kind": "haulage", "charges-0-amount": "10.05", "lines-TOTAL_FORMS": "2",
        }  # fmt: skip
        rows = ((0, "Board", f"{n} ft", price), (1, "Shelf", "9 ft", "30.50"))
        for i, part, quantity, cost in rows:
            typed[f"lines-{i}-component"] = str(self.builds[f"here {part}"])
            typed[f"lines-{i}-quantity_text"] = quantity
            typed[f"lines-{i}-source"] = "retail"
            typed[f"lines-{i}-line_price_amount"] = cost
        lines = [[part, quantity] for _, part, quantity, _ in rows]
        value = {"lines": lines, "charges": 1, "total": total, "changes": 1}
        key = f"purchase of {price}"
        fields = [*(page.form.fields | typed).items()]
        act = Act("purchase", f"{self.at}/purchases/add/", fields, {key: (None, value)})
        act.may_repeat = True
        self.book.keys[key] = int(self.send(act).split("/")[4])
        self.mine.append(key)

    def _one(self) -> tuple[str, int, Any] | None:
        """A purchase that only this person touches."""
        there = [key for key in self.mine if key in self.book.must]
        if not there:
            self.log()
            there = self.mine[-1:]
        key = self.chance.choice(there)
        return key, self.book.keys[key], self.book.must[key]

    def edit(self) -> None:
        """Change the quantity of a purchase."""
        key, pk, value = self._one()
        path = f"{self.at}/purchases/{pk}/change/"
        page = Page(self.visitor.get(path).text)
        text = f"{self.number()} ft"
        after = value | {
            "lines": [[value["lines"][0][0], text], *value["lines"][1:]],
            "changes": value["changes"] + 1,
        }
        fields = [*(page.form.fields | {"lines-0-quantity_text": text}).items()]
        self.send(Act("edit", path, fields, {key: (value, after)}, may_repeat=True))

    def delete(self) -> None:
        """Delete a purchase, then bring it back."""
        key, pk, value = self._one()
        # What goes with it, a photo, comes back with it.
        photo = f"photo in {key.rpartition(' ')[2]}"
        gone: Any = {key: (value, None)}
        back: Any = {key: (None, value | {"changes": value["changes"] + 2})}
        if photo in self.book.must:
            gone[photo], back[photo] = (1, None), (None, 1)
        self.send(Act("delete", f"{self.at}/delete/purchase/{pk}/", [], gone))
        page = self.visitor.get(f"{self.at}/history/of/purchase/{pk}/").text
        newest = max(int(number) for number in ENTRIES.findall(page))
        self.send(Act("undo", f"{self.at}/history/{newest}/undo/", [], back))

    def convert(self) -> None:
        """Make shelves of boards."""
        n = self.number()
        page = Page(self.visitor.get(f"{self.at}/conversions/add/").text)
        typed = {
            "number": f"V{n}", "converted_on": DAY, "source": str(self.builds["here Board"]),
            "used_text": "3 ft", "extra_cost_amount": "0.75", "hours": "",
            "outputs-0-component": str(self.builds["here Shelf"]), "outputs-0-made_text": "2 ft",
        }  # fmt: skip
        value = {"used": "3 ft", "made": ["2 ft"], "cost": "0.75", "changes": 1}
        fields = [*(page.form.fields | typed).items()]
        changes = {f"conversion V{n}": (None, value)}
        self.send(Act("convert", f"{self.at}/conversions/add/", fields, changes, may_repeat=True))

    def move(self) -> None:
        """Move boards to the other build."""
        n = self.number()
        fields = {
            "moved_on": DAY, "component": str(self.builds["here Board"]), "note": f"M{n}",
            "quantity_text": "5 ft", "taken_from": "built in", "to_component": "",
        }  # fmt: skip
        path = f"{self.at}/moves/add/?to={self.builds['there']}"
        value = {"text": "5 ft", "changes": 2}
        changes = {f"move M{n}": (None, value)}
        self.send(Act("move", path, marked(fields), changes, may_repeat=True))

    def photo(self) -> None:
        """Two photos at once, under a purchase."""
        n = self.number()
        if n % 5 == 0:
            # A purchase holds no more than 40 photos.
            self.log()
            self.mine[:] = self.mine[-1:]
        _, pk, _ = self._one()
        files = [("chosen", f"{i}.jpg", jpeg((400 + i, 300))) for i in range(2)]
        path = f"{self.at}/photos/of/purchase/{pk}/add/"
        changes = {f"photo F{n}": (None, 2)}
        self.send(Act("photo", path, [("caption", f"F{n}")], changes, files))

    def bring(self) -> None:
        """One step of an import, of the first that is not finished, or of a new one."""
        at = f"/builds/{self.builds['tables']}/import/"
        self.began.set()
        pending = [key for key, (_, is_finished) in self.book.imports.items() if not is_finished]
        if not pending:
            n = self.number()
            rows = ["Date\tVendor\tItem\tQty\tUnit\tCost"]
            rows += [
                f"2026-03-{i % 28 + 1:02}\tYard {n}\tPart {n}-{i % 9}\t{i}\tft\t0.50"
                for i in range(1, ROWS + 1)
            ]
            to = self.step(at, {"pasted": "\n".join(rows)})
            self.book.imports[to.split("/")[4]] = (0, False)
            return
        at += pending[0]
        path = self.visitor.get(f"{at}/rows/").to or f"{at}/rows/"
        if path.endswith("/table/"):
            self.step(path, {"place": "0", "heading_row": "1", "kind": "purchases"})
        elif path.endswith("/columns/"):
            form = Page(self.visitor.get(path).text).form
            self.step(path, form.fields | {"source": "salvage"})
        elif path.endswith("/run/"):
            self.step(f"{at}/run/", {})
        elif f"<h1>{ROWS:,} rows imported" in self.visitor.get(f"{at}/run/").text:
            with self.lock:
                self.book.imports[pending[0]] = (ROWS, True)
                self.book.acknowledged["import finished"] += 1
        else:
            self.step(f"{at}/run/", {"action": "start"})

    def step(self, path: str, fields: dict[str, str]) -> str:
        """A step that leads on."""
        answer = self.visitor.post(path, fields)
        if answer.status != 302:
            raise AssertionError((path, answer.status, Page(answer.text).text[:1500]))
        with self.lock:
            self.book.acknowledged["import step"] += 1
        return answer.to


def marked(fields: dict[str, str]) -> list[tuple[str, str]]:
    """Fields with the mark by which a form that arrives twice is known."""
    return [*fields.items(), ("form_token", secrets.token_urlsafe(16))]


ACTS: tuple[str, ...] = (
    "log", "purchase", "edit", "delete", "convert", "move", "photo", "bring", "backup",
)  # fmt: skip
OTHERS: tuple[str, ...] = ("log", "edit", "convert")
