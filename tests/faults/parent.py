"""``python -m tests.faults.parent``: has the program loaded once, and forks servers off it.

Loading takes seconds, forking some milliseconds, so that a server can be killed a thousand
times. The parent itself never opens the database: whatever does is a child of its own, so when
all children are dead no process at all holds the database, as after a power cut.

It reads a line of JSON for each order and answers with one:

``{"do": "serve", "port": …, "log": …}`` begins gunicorn in a process group of its own;
``{"do": "command", "words": [...], "out": …}`` begins a command of manage.py likewise;
``{"do": "call", "what": "module:function", "with": {…}}`` gives what a function returns.
"""

import importlib
import json
import os
import signal
import sys
import traceback
from typing import Any

LOADED = (
    "gunicorn.app.base",
    "gunicorn.arbiter",
    "gunicorn.workers.gthread",
    "materials.management.commands.backup",
    "materials.management.commands.restore",
    "django.test",
    "PIL.JpegImagePlugin",
    "tests.entries",
    "tests.faults.looks",
)


def main() -> None:
    """Load, then obey until the other end closes."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.faults.settings")
    from django.conf import settings
    from django.core.wsgi import get_wsgi_application
    from django.template.loader import get_template
    from django.urls import resolve

    application = get_wsgi_application()
    resolve("/")
    for name in LOADED:
        importlib.import_module(name)
    for path in (settings.BASE_DIR / "templates").rglob("*.html"):
        get_template(str(path.relative_to(settings.BASE_DIR / "templates")))
    # Children are not waited for: nobody asks how one ended that was killed.
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    sys.stdout.write('"ready"\n')
    sys.stdout.flush()
    for line in sys.stdin:
        order = json.loads(line)
        if order["do"] == "serve":
            answer: Any = _begin(order["log"], lambda o=order: _serve(application, o))
        elif order["do"] == "command":
            answer = _begin(order["out"], lambda o=order: _command(o["words"]))
        else:
            answer = _call(order)
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()


def _begin(log: str, run: Any) -> int:
    """Run something in a child with a process group of its own; gives its number."""
    child = os.fork()
    if child:
        return child
    try:
        os.setsid()
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        out = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
        os.dup2(out, 1)
        os.dup2(out, 2)
        run()
    except SystemExit:
        pass
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(0)


def _serve(application: Any, order: dict[str, Any]) -> None:
    from gunicorn.app.base import BaseApplication

    class Server(BaseApplication):
        def load_config(self) -> None:
            values = {"bind": f"127.0.0.1:{order['port']}", "workers": 2, "threads": 3}
            values |= {"preload_app": True, "timeout": 120, "loglevel": "warning"}
            for name, value in (values | order.get("more", {})).items():
                self.cfg.set(name, value)

        def load(self) -> Any:
            return application

    sys.argv = ["gunicorn"]
    Server().run()


def _command(words: list[str]) -> None:
    from django.core.management import call_command

    call_command(*words)


def _call(order: dict[str, Any]) -> Any:
    """What a function returns, or ``{"failed": …}``; run in a child."""
    reads, writes = os.pipe()
    child = os.fork()
    if not child:
        os.close(reads)
        try:
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            module, _, name = order["what"].partition(":")
            answer = getattr(importlib.import_module(module), name)(**order.get("with", {}))
        except BaseException:
            answer = {"failed": traceback.format_exc()}
        try:
            with os.fdopen(writes, "w") as stream:
                json.dump(answer, stream)
        finally:
            os._exit(0)
    os.close(writes)
    with os.fdopen(reads) as stream:
        result = stream.read()
    return json.loads(result) if result else {"failed": "it ended without a word"}


if __name__ == "__main__":
    main()
