"""The files of .deploy: read as strictly as can be here, and what they run is run.

Where there is nginx it checks its file and stands in front for once; no image can be built here,
so the steps that make one are looked at, and those that can be done without it are done.
"""

import configparser
import json
import os
import re
import shutil
import ssl
import subprocess
import sys
import time
from contextlib import closing
from http.client import HTTPSConnection
from pathlib import Path

import pytest

from tests.own_database import ROOT, own_database

from .served import DEPLOY, bare, command_of_unit, free_port, serve, settings_of_deploy

README = (ROOT / "README.md").read_text(encoding="utf-8")
FILES = {
    "buildledger.env", "buildledger.service", "ledger", "nginx.conf", "Containerfile",
    "Containerfile.dockerignore", "compose.yaml", "compose.second.yaml",
}  # fmt: skip


def text_of(name: str) -> str:
    return (DEPLOY / name).read_text(encoding="utf-8")


# README and files say the same.


def test_the_readme_names_each_file_and_shows_none_of_them():
    there = {path.name for path in DEPLOY.iterdir()}
    assert there >= FILES
    for name in FILES - {"Containerfile.dockerignore"}:
        assert f".deploy/{name}" in README, name
    for line in ("ExecStart=", "proxy_set_header", "FROM python", "setpriv"):
        assert line not in README, "shown once, in its file"
    assert set(re.findall(r"\.deploy/([\w.]*\w)", README)) <= there
    assert README.count("\n") < 180


def test_each_file_lands_where_it_says_it_does():
    """``install`` in the README puts it where its first line says."""
    placed = dict(re.findall(r"^install -m \d+ \.deploy/(\S+) (\S+)$", README, re.M))
    assert set(placed) == {"buildledger.env", "ledger", "buildledger.service", "nginx.conf"}
    for name, target in placed.items():
        assert f"# {target}" in text_of(name), name
    assert "install -m 600 .deploy/buildledger.env" in README, "there are secrets in it"


def test_folders_and_users_are_the_same_everywhere():
    unit, script, env = text_of("buildledger.service"), text_of("ledger"), settings_of_deploy()
    assert "adduser --system --group --home /var/lib/buildledger buildledger" in README
    assert env["DATA_ROOT"] == "/var/lib/buildledger"
    for text in (unit, script):
        assert "/srv/buildledger" in text
        assert "/etc/buildledger.env" in text
    assert "User=buildledger" in unit
    assert "--reuid=buildledger" in script
    folders = set(re.findall(r"/var/[\w/]*backup\w*", README))
    assert folders == {f"{env['DATA_ROOT']}/backups"}
    assert "cd /srv/buildledger" in README


def test_the_service_is_stopped_before_anything_is_installed():
    upgrade = README.partition("**To upgrade**")[2].partition("**Watching over it.**")[0]
    order = ["ledger backup", "systemctl stop", "git pull", "pip install", "systemctl start"]
    places = [upgrade.index(word) for word in order]
    assert places == sorted(places)
    assert "git clone" in README
    assert "git archive HEAD | ssh" in README


# The service.


def test_the_unit_holds_what_a_unit_may_hold():
    """Sections and keys as systemd.unit(5), .service(5) and .exec(5) name them."""
    unit = configparser.ConfigParser(delimiters=("=",), strict=True, interpolation=None)
    unit.optionxform = str
    unit.read_string(text_of("buildledger.service"))
    assert {section: set(unit[section]) for section in unit.sections()} == {
        "Unit": {"Description", "After"},
        "Service": {
            "User", "WorkingDirectory", "EnvironmentFile", "ExecStart", "Restart", "RestartSec",
            "UMask", "StateDirectory", "StateDirectoryMode", "NoNewPrivileges", "PrivateTmp",
            "PrivateDevices", "ProtectSystem", "ProtectHome",
        },
        "Install": {"WantedBy"},
    }  # fmt: skip
    service = unit["Service"]
    assert service["ExecStart"].startswith("/"), "systemd wants a whole path"
    assert settings_of_deploy()["DATA_ROOT"] == f"/var/lib/{service['StateDirectory']}"
    for name in ("NoNewPrivileges", "PrivateTmp", "PrivateDevices", "ProtectHome"):
        assert service[name] == "yes"
    assert service["ProtectSystem"] == "strict", "it may write to its own folder alone"
    assert "\\\n" not in text_of("buildledger.service")


def test_systemd_finds_nothing_wrong(tmp_path):
    """Where there is systemd; what it runs is not there, so that is put in its place."""
    program = shutil.which("systemd-analyze")
    if program is None:
        pytest.skip("no systemd here: the keys are looked at above")
    file = tmp_path / "buildledger.service"
    unit = text_of("buildledger.service").replace("/srv/buildledger/.venv/bin/python", "/bin/true")
    file.write_text(unit)
    done = subprocess.run([program, "verify", str(file)], capture_output=True, text=True)
    assert "buildledger.service" not in done.stderr, done.stderr


def test_the_script_of_commands_is_a_script():
    done = subprocess.run(["sh", "-n", str(DEPLOY / "ledger")], capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert os.access(DEPLOY / "ledger", os.X_OK)
    done = subprocess.run(
        ["sh", "-euc", 'set -a; . "$0"; env', str(DEPLOY / "buildledger.env")],
        capture_output=True, text=True, check=True, env={"PATH": os.environ["PATH"]},
    )  # fmt: skip
    read = dict(line.split("=", 1) for line in done.stdout.splitlines())
    assert settings_of_deploy().items() <= read.items(), "a shell reads it as systemd does"


# The proxy.

TOKEN = re.compile(r"\s*(?:#[^\n]*|(?P<word>[^\s;{}#]+)|(?P<sign>[;{}]))")
DIRECTIVES = {
    "server", "listen", "server_name", "ssl_certificate", "ssl_certificate_key", "ssl_protocols",
    "ssl_ciphers", "ssl_prefer_server_ciphers", "client_max_body_size", "access_log", "location",
    "proxy_pass", "proxy_set_header", "proxy_read_timeout", "return",
}  # fmt: skip


def read_nginx(text: str) -> list:
    """Directives as lists of words, those of a block last as a list. Raises AssertionError."""
    blocks, words, at = [[]], [], 0
    text = text.rstrip()
    while at < len(text):
        found = TOKEN.match(text, at)
        assert found, text[at : at + 40]
        at = found.end()
        if found["word"]:
            words.append(found["word"])
        elif found["sign"] == ";":
            assert words
            blocks[-1].append(words)
            words = []
        elif found["sign"] == "{":
            assert words
            blocks.append([])
            blocks[-2].append([*words, blocks[-1]])
            words = []
        elif found["sign"] == "}":
            assert not words, "a directive without its end"
            blocks.pop()
            assert blocks, "a brace too many"
    assert len(blocks) == 1, "a brace too few"
    assert not words
    return blocks[0]


def names_of(block: list) -> set[str]:
    inner = [names_of(line[-1]) for line in block if isinstance(line[-1], list)]
    return {line[0] for line in block}.union(*inner)


def test_the_proxys_file_holds_directives_in_braces():
    secure, plain = (server[-1] for server in read_nginx(text_of("nginx.conf")))
    assert names_of([["server", secure], ["server", plain]]) == DIRECTIVES
    (place,) = (line[-1] for line in secure if line[0] == "location")
    headers = {line[1]: line[2] for line in place if line[0] == "proxy_set_header"}
    assert headers == {
        "Host": "$host",
        "X-Forwarded-For": "$proxy_add_x_forwarded_for",
        "X-Forwarded-Proto": "$scheme",
        "X-Request-ID": "$request_id",
    }
    for server in (secure, plain):
        assert ["access_log", "off"] in server, "some addresses are secrets"
    assert ["proxy_pass", "http://127.0.0.1:8000"] in place
    assert "--bind 127.0.0.1:8000" in command_of_unit()
    names = {line[1] for server in (secure, plain) for line in server if line[0] == "server_name"}
    assert names <= set(settings_of_deploy()["ALLOWED_HOSTS"].split(","))


def test_the_proxy_speaks_no_old_tls():
    """ASVS 5.0.0, 12.1.1."""
    assert re.search(r"^    ssl_protocols +TLSv1.2 TLSv1.3;$", text_of("nginx.conf"), re.M)


# RFC 9325 (BCP 195), 4.2: what it recommends for TLS 1.2 (from memory). Names as OpenSSL has them.
RECOMMENDED = {
    f"ECDHE-{key}-AES{bits}-GCM-SHA{digest}"
    for key in ("RSA", "ECDSA")
    for bits, digest in ((128, 256), (256, 384))
}


def test_the_proxy_takes_recommended_ciphers_alone_the_strongest_first():
    """ASVS 5.0.0, 12.1.2."""
    secure, _ = (server[-1] for server in read_nginx(text_of("nginx.conf")))
    (named,) = (line[1].split(":") for line in secure if line[0] == "ssl_ciphers")
    assert set(named) == RECOMMENDED
    assert len(named) == len(RECOMMENDED)
    assert ["AES256" in name for name in named] == [True, True, False, False]
    assert ["ssl_prefer_server_ciphers", "on"] in secure
    # Each is known under that name, and no other comes with it for TLS 1.2.
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.set_ciphers(":".join(named))
    made = [each["name"] for each in context.get_ciphers() if each["protocol"] == "TLSv1.2"]
    assert made == named


@pytest.mark.parametrize("text", ["server {", "server { listen 80; } }", "server { listen }", "{}"])
def test_what_is_no_such_file_would_be_seen(text):
    with pytest.raises(AssertionError):
        read_nginx(text)


def proxy_file(folder: Path, secure: int, plain: int, behind: int) -> Path:
    """The file with ports and a certificate of the test, in what nginx puts around it."""
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2",
         "-subj", "/CN=ledger.example", "-addext", "subjectAltName=DNS:ledger.example",
         "-keyout", folder / "privkey.pem", "-out", folder / "fullchain.pem"],
        check=True, capture_output=True,
    )  # fmt: skip
    text = text_of("nginx.conf").replace("/etc/letsencrypt/live/ledger.example", str(folder))
    text = text.replace("listen 443", f"listen 127.0.0.1:{secure}")
    text = text.replace("listen 80;", f"listen 127.0.0.1:{plain};").replace(":8000;", f":{behind};")
    own = "".join(
        f"{name}_temp_path {folder}/{name};" for name in ("client_body", "proxy", "fastcgi",
                                                          "uwsgi", "scgi")
    )  # fmt: skip
    file = folder / "nginx.conf"
    file.write_text(
        f"pid {folder}/pid; error_log {folder}/errors; daemon off; user root;"
        f"events {{}} http {{ access_log {folder}/all; {own}\n{text} }}"
    )
    return file


@pytest.mark.database
@pytest.mark.slow
def test_served_by_the_unit_behind_the_proxy(tmp_path):
    """The unit's command with the settings of .deploy; in front nginx, where there is one."""
    data = str(tmp_path / "data")
    with own_database(tmp_path, made=True) as env:
        own = {"DATA_ROOT": data, "DATABASE_URL": env["DATABASE_URL"]}
        with serve(bare(env, **settings_of_deploy() | own), tmp_path) as served:
            assert f"https://ledger.example{served.way}" in served.printed
            nginx = shutil.which("nginx", path=f"{os.environ['PATH']}:/usr/sbin")
            if nginx is None:
                return
            secure, plain = free_port(), free_port()
            file = proxy_file(tmp_path, secure, plain, served.port)
            done = subprocess.run([nginx, "-t", "-c", file], capture_output=True, text=True)
            assert "test is successful" in done.stderr, done.stderr
            proxy = subprocess.Popen([nginx, "-c", file], stderr=subprocess.DEVNULL)
            try:
                look_through(secure, served.way, tmp_path)
            finally:
                proxy.terminate()
                proxy.wait(timeout=30)
    assert not (tmp_path / "all").exists() or served.way not in (tmp_path / "all").read_text()


def look_through(port: int, way: str, folder: Path) -> None:
    trusts = ssl.create_default_context(cafile=folder / "fullchain.pem")

    class Ledger(HTTPSConnection):
        """Whatever the name, it is this machine."""

        def connect(self):
            self.sock = trusts.wrap_socket(
                self._create_connection(("127.0.0.1", port), 60), server_hostname="ledger.example"
            )

    def ask(path: str):
        with closing(Ledger("ledger.example", timeout=60)) as connection:
            connection.request("GET", path, headers={"X-Forwarded-For": "8.8.8.8"})
            with connection.getresponse() as answer:
                return answer, answer.read()

    until = time.monotonic() + 30
    while True:
        try:
            _, body = ask("/health/")
            break
        except ConnectionRefusedError:
            assert time.monotonic() < until
            time.sleep(0.1)
    assert json.loads(body) == {"database": "ok", "migrations": "ok", "media": "ok"}
    answer, _ = ask(way)
    assert (answer.status, answer.headers["Location"]) == (302, "/start/")
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert "__Host-sessionid" in answer.headers["Set-Cookie"]


# The image.

INSTRUCTIONS = {
    "FROM", "WORKDIR", "COPY", "RUN", "ENV", "USER", "VOLUME", "EXPOSE", "HEALTHCHECK", "CMD",
}  # fmt: skip


def read_image() -> list[tuple[str, str]]:
    """Instructions and what stands behind each."""
    lines = [line for line in text_of("Containerfile").splitlines() if line.strip()]
    pairs = [line.split(" ", 1) for line in lines if not line.startswith("#")]
    return [(name, rest.strip()) for name, rest in pairs]


def test_the_image_is_made_by_instructions_there_are():
    steps = read_image()
    assert {name for name, _ in steps} == INSTRUCTIONS
    assert steps[0] == ("FROM", "python:3.11-slim")
    for name, rest in steps:
        if name == "COPY":
            source = rest.split()[0]
            assert (ROOT / source).exists(), rest
            assert f"!{source}" in text_of("Containerfile.dockerignore").splitlines()
    places = [name for name, _ in steps]
    assert places.index("USER") < places.index("CMD"), "it does not run as root"
    (user,) = (rest for name, rest in steps if name == "USER")
    assert int(user) > 0
    assert [rest for name, rest in steps if name == "VOLUME"] == ["/data"]
    assert any("DATA_ROOT=/data" in rest for name, rest in steps if name == "ENV")
    for _, rest in steps[-2:]:
        words = json.loads(rest[rest.index("[") :])
        assert words[0] == "python", "without a shell, so that it hears the signal to stop"
    compile(json.loads(steps[-2][1][steps[-2][1].index("[") :])[2], "HEALTHCHECK", "exec")


def test_the_image_takes_nothing_of_a_ledger_along():
    lines = text_of("Containerfile.dockerignore").splitlines()
    kept = [line for line in lines if not line.startswith(("#", "!"))]
    assert kept == ["*", "**/__pycache__"]
    assert [line for line in lines if line.startswith("!.")] == ["!.deploy/requirements.lock"]


def test_the_image_installs_the_locked_files_alone():
    """What is in the lock, tests/project/test_lock.py looks at."""
    (step,) = (rest for name, rest in read_image() if name == "RUN" and "pip" in rest)
    assert step == "pip install --no-cache-dir --require-hashes -r requirements.lock"
    assert ("COPY", ".deploy/requirements.lock .") in read_image()


@pytest.mark.database
@pytest.mark.slow
def test_the_images_command_serves_from_what_is_copied(tmp_path):
    """With nothing but what COPY takes, at another place, and its own check of health."""
    home = tmp_path / "srv"
    home.mkdir()
    for name, rest in read_image():
        if name == "COPY":
            source, target = rest.split()
            (shutil.copy if target == "." else shutil.copytree)(ROOT / source, home / target)
    steps = dict(read_image())
    command = json.loads(steps["CMD"])
    with own_database(tmp_path) as env:
        env = bare(env, DATA_ROOT=str(tmp_path / "data"), PYTHONDONTWRITEBYTECODE="1")
        with serve(env, tmp_path, " ".join(command[1:]), home) as served:
            assert "ALLOWED_HOSTS names this machine only" in served.printed
            check = json.loads(steps["HEALTHCHECK"].partition("CMD ")[2])
            words = [word.replace(":8000", f":{served.port}") for word in check[1:]]
            # Asked three times before it counts as ill, as Docker does (its Dockerfile reference).
            for _ in range(3):
                done = subprocess.run([sys.executable, *words], capture_output=True, check=False)
                if not done.returncode:
                    break
            assert (done.returncode, done.stderr) == (0, b"")
    assert not [path for path in home.iterdir() if path.name.startswith(".")], "it wrote elsewhere"


# Compose.


def read_yaml(text: str):
    """The part of YAML that the file keeps to: maps and lists by indentation, plain or "quoted".

    No package that reads YAML is among the pinned ones. Raises AssertionError for what is not so.
    """
    lines = [line for line in text.splitlines() if line.strip() and line.strip()[0] != "#"]
    return _block(lines, 0)


def _block(lines: list[str], indent: int):
    if lines[0].startswith(" " * indent + "- "):
        for line in lines:
            assert line.startswith(" " * indent + "- "), line
        return [_scalar(line.strip()[2:]) for line in lines]
    found = {}
    while lines:
        line = lines.pop(0)
        read = re.fullmatch(r"( *)([\w.-]+):(?: (.+))?", line)
        assert read, line
        assert len(read[1]) == indent, line
        assert read[2] not in found, f"twice: {line}"
        inner = []
        while lines and len(lines[0]) - len(lines[0].lstrip()) > indent:
            inner.append(lines.pop(0))
        assert not (inner and read[3]), line
        found[read[2]] = _block(inner, indent + 2) if inner else _scalar(read[3] or "")
    return found


def _scalar(text: str):
    if text[:1] in ('"', "["):
        return json.loads(text)
    assert not re.search(r": |[{}\[\]#&*!|>'%@`]", text), f"put it in quotes: {text}"
    return text


@pytest.mark.parametrize(
    "text", ["a: 1\na: 2", "a:\n   b: 1", "a: {b}", "a: 1\n  b: 2", "- a\nb: 1"]
)
def test_what_is_not_so_would_be_seen(text):
    with pytest.raises(AssertionError):
        read_yaml(text)


def test_the_services_together():
    read = read_yaml(text_of("compose.yaml"))
    assert set(read) == {"services", "volumes"}
    ledger, database = read["services"]["ledger"], read["services"]["database"]
    assert (DEPLOY / ledger["build"]["context"]).resolve() == ROOT.resolve()
    assert (ROOT / ledger["build"]["dockerfile"]).is_file()
    assert set(ledger["depends_on"]) == {"database"}
    volumes = [*ledger["volumes"], *database["volumes"]]
    assert {volume.split(":")[0] for volume in volumes} == set(read["volumes"])
    assert ledger["volumes"] == ["ledger:/data"], "one volume, where the image says"
    assert all(port.startswith("127.0.0.1:") for port in ledger["ports"])
    for name in ledger["environment"]:
        assert re.search(rf"^\| [^|]*`{name}`[^|]* \|", README, re.MULTILINE), name
    assert "DATABASE_PASSWORD:?" in ledger["environment"]["DATABASE_URL"], "it has to be set"
    assert "@database/" in ledger["environment"]["DATABASE_URL"]
    assert database["image"].startswith("postgres:")


def test_a_second_service_shares_what_two_must_share():
    """Added to the other file: as the first but for its port, and it waits until that one is up."""
    first = read_yaml(text_of("compose.yaml"))["services"]["ledger"]
    read = read_yaml(text_of("compose.second.yaml"))
    assert set(read) == {"services"}
    assert set(read["services"]) == {"ledger", "second"}
    second, more = read["services"]["second"], read["services"]["ledger"]
    assert set(more) == {"environment"}
    # The secret key, photos and WORK_ROOT lie in the volume that both have.
    environment = first["environment"] | more["environment"]
    assert environment == second["environment"]
    assert environment["WORK_ROOT"].startswith("/data/")
    assert second["depends_on"] == {"ledger": {"condition": "service_healthy"}}
    assert second["ports"] != first["ports"]
    own = {"environment", "depends_on", "ports"}
    assert {k: v for k, v in second.items() if k not in own} == {
        k: v for k, v in first.items() if k not in own
    }
