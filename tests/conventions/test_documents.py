"""What DEVELOPERS.md promises to list: every setting, every command."""

import re

from tests.conventions.source import ROOT, WEBAPP

DOCUMENT = ROOT / "DEVELOPERS.md"


def test_it_names_every_setting():
    settings = set(re.findall(r"DRUMSIDE_[A-Z_]+", (WEBAPP / "config.py").read_text()))
    assert len(settings) >= 5
    assert {name for name in settings if f"`{name}" not in DOCUMENT.read_text()} == set()


def test_it_names_every_setting_of_the_runners():
    """What the demo, the deployment and the tests read from the environment."""
    read = set()
    for folder in ("webapp", "demo", "deploy", "tests"):
        for path in (ROOT / folder).rglob("*.py"):
            found = re.findall(r"(?:environ(?:\.get\(|\[)|getenv\()\s*[\"']([A-Z_]+)[\"']", path.read_text())
            read |= {name for name in found if name.startswith("DRUMSIDE_")}
    assert {name for name in read if f"`{name}" not in DOCUMENT.read_text()} == set()


def test_it_reads_the_environment_only_where_settings_are_made():
    # zones.py: the server's own time zone, proposed when a bench is set up and chosen by a person.
    reading = {
        str(path.relative_to(ROOT))
        for path in WEBAPP.rglob("*.py")
        if re.search(r"\bos\.environ\b|\bgetenv\(", path.read_text())
    }
    assert reading == {"webapp/config.py", "webapp/people/zones.py"}


def test_it_names_every_command(app):
    commands = {name for name in app.cli.commands if name not in ("run", "shell", "routes")}
    assert len(commands) >= 7
    text = DOCUMENT.read_text()
    assert {name for name in commands if not re.search(rf"`{name}( [A-Z]+| --[a-z]+)?`", text)} == set()


def test_it_names_no_command_that_is_not_there(app):
    table = DOCUMENT.read_text().split("flask --app webapp COMMAND")[1].split("\n\nSettings")[0]
    cells = re.findall(r"^\| (`[^|]+`) \|", table, flags=re.MULTILINE)
    named = {word.split()[0] for cell in cells for word in re.findall(r"`([^`]+)`", cell)}
    assert named == {name for name in app.cli.commands if name not in ("run", "shell", "routes")}


def test_it_names_every_part_of_the_app():
    tree = DOCUMENT.read_text().split("## Where things are")[1].split("```")[1]
    for path in WEBAPP.iterdir():
        if path.is_dir() and path.name != "__pycache__":
            assert f"{path.name}/" in tree, path.name
