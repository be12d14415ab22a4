"""What stands in the templates: nothing inline, nothing unescaped, nothing that leads nowhere, nothing unused."""

import re

import pytest
from jinja2 import Environment, UndefinedError, nodes

from tests.conventions.source import STATIC, WEBAPP, templates
from webapp.gear.pictures import WORDS
from webapp.ui.default_methods import DEFAULT_METHODS

TEMPLATES = templates()
# Where text is passed on as it is, each with how often and why it is no danger.
SAFE = {"bench/capture.html": 1}  # a constant attribute, loading="lazy"


def tree(name):
    """A template's syntax tree."""
    return Environment(extensions=["jinja2.ext.loopcontrols"]).parse(TEMPLATES[name])


def without_comments(text):
    """A template without its comments, which may talk about anything."""
    return re.sub(r"\{#.*?#\}", "", text, flags=re.DOTALL)


@pytest.mark.parametrize("name", TEMPLATES)
def test_it_has_no_script_or_style_of_its_own(name):
    """The policy would refuse them (tests/conventions/test_headers.py): the page would work here and break there."""
    text = without_comments(TEMPLATES[name])
    for script in re.findall(r"<script\b[^>]*>.*?</script>", text, flags=re.DOTALL | re.IGNORECASE):
        assert re.fullmatch(r'<script type="module" src="[^>]*"></script>', script), script
    assert not re.search(r"<style\b", text, re.IGNORECASE)
    assert not re.search(r"[\s\"']style\s*=", text, re.IGNORECASE)
    assert not re.search(r"\son[a-z]+\s*=", text, re.IGNORECASE)
    assert not re.search(r"javascript:", text, re.IGNORECASE)


@pytest.mark.parametrize("name", TEMPLATES)
def test_it_loads_nothing_from_elsewhere(name):
    text = without_comments(TEMPLATES[name])
    text = text.replace("http://www.w3.org/2000/svg", "")
    assert not re.search(r"(https?:)?//[a-z0-9-]+\.", text, re.IGNORECASE)
    assert not re.search(r"<(iframe|object|embed|base|meta http-equiv)", text, re.IGNORECASE)


def test_it_escapes_everything_but_what_is_listed():
    found = {name: len(re.findall(r"\|\s*safe\b", text)) for name, text in TEMPLATES.items()}
    assert {name: count for name, count in found.items() if count} == SAFE
    for name, text in TEMPLATES.items():
        assert "autoescape" not in text, name
    marked = [path for path in WEBAPP.rglob("*.py") if re.search(r"\bMarkup\(", path.read_text())]
    # The shell's pages: what our own templates have made, put into another. A trend's picture: an XML writer made it,
    # which escapes what people have typed (tests/trends/test_draw.py).
    assert set(marked) == {WEBAPP / "shell" / "bare.py", WEBAPP / "trends" / "page.py"}


def test_it_escapes_whatever_the_name_of_the_file(app):
    assert app.jinja_env.from_string("{{ x }}").render(x="<b>") == "&lt;b&gt;"
    assert all(name.endswith(".html") for name in TEMPLATES)
    assert app.jinja_env.get_template("ui/form.html").environment.autoescape is not False


def test_it_stops_at_a_name_that_is_not_there(app):
    """A misspelt variable is an error, not an empty place on the screen."""
    with pytest.raises(UndefinedError):
        app.jinja_env.from_string("{{ mispelt }}").render()


@pytest.mark.parametrize("name", TEMPLATES)
def test_it_uses_what_it_imports(name):
    text = without_comments(TEMPLATES[name])
    for source, alias in re.findall(r'\{%-?\s*import\s+"([^"]+)"\s+as\s+(\w+)', text):
        called = set(re.findall(rf"\b{alias}\.(\w+)\(", text))
        assert called, f"{alias} is imported and never used"
        there = set(re.findall(r"\{%-?\s*macro\s+(\w+)\(", TEMPLATES[source]))
        assert called <= there, f"{source} has no {called - there}"
    for source, listed in re.findall(r'\{%-?\s*from\s+"([^"]+)"\s+import\s+([^%]+?)(?:\s+with context)?\s*-?%\}', text):
        there = set(re.findall(r"\{%-?\s*macro\s+(\w+)\(", TEMPLATES[source]))
        for macro in (part.split(" as ")[-1].strip() for part in listed.split(",")):
            assert len(re.findall(rf"\b{macro}\(", text)) > 0, f"{macro} is imported and never used"
            assert macro in there


@pytest.mark.parametrize("name", TEMPLATES)
def test_it_includes_and_extends_only_what_is_there(name):
    for node in tree(name).find_all((nodes.Extends, nodes.Include, nodes.Import, nodes.FromImport)):
        assert isinstance(node.template, nodes.Const), "named by an expression: nothing can look whether it is there"
        assert node.template.value in TEMPLATES


def test_it_has_no_template_that_nothing_shows():
    """Each is named in a view, or in another template."""
    python = "\n".join(path.read_text() for path in WEBAPP.rglob("*.py"))
    named = set()
    for name in TEMPLATES:
        others = "\n".join(text for other, text in TEMPLATES.items() if other != name)
        if f'"{name}"' in python or f'"{name}"' in others:
            named.add(name)
    # render_template(f"people/{step}.html"): the steps in webapp/ui/keep.py.
    by_step = {"people/sign_in.html", "people/confirm.html"}
    assert set(TEMPLATES) - named - by_step == set()


def test_it_has_no_macro_that_nothing_calls():
    everything = "\n".join(without_comments(text) for text in TEMPLATES.values())
    for name, text in TEMPLATES.items():
        for macro in re.findall(r"\{%-?\s*macro\s+(\w+)\(", text):
            assert len(re.findall(rf"\b{macro}\(", everything)) > 1, f"{name}: {macro}"


def constants(node):
    """Every constant that an expression can come to, or None if it is built in another way."""
    if isinstance(node, nodes.Const):
        return {node.value}
    if isinstance(node, nodes.CondExpr) and node.expr2 is not None:
        one, other = constants(node.expr1), constants(node.expr2)
        return one | other if one and other else None
    return None


# Addresses whose endpoint comes from a list in a view: tests/people/test_settings.py follows each of them.
LISTED = {"people/settings.html"}


def calls(name):
    """(endpoints, names of the values, the call) of every url_for in a template."""
    for call in tree(name).find_all(nodes.Call):
        if isinstance(call.node, nodes.Name) and call.node.name == "url_for":
            yield constants(call.args[0]), {kwarg.key for kwarg in call.kwargs}, call


@pytest.mark.parametrize("name", TEMPLATES)
def test_it_links_only_to_routes_that_are_there(app, name):
    for endpoints, values, _call in calls(name):
        if endpoints is None:
            assert name in LISTED
            continue
        for endpoint in endpoints:
            needed = [set(rule.arguments) for rule in app.url_map.iter_rules(endpoint)]
            assert any(arguments <= values for arguments in needed), (endpoint, values)


@pytest.mark.parametrize("name", TEMPLATES)
def test_it_names_only_files_that_are_there(name):
    for endpoints, _values, call in calls(name):
        if endpoints != {"static"}:
            continue
        (filename,) = [kwarg.value for kwarg in call.kwargs if kwarg.key == "filename"]
        if known := constants(filename):
            # A folder's address, for a script to which it is handed: with the slash at its end.
            assert all((STATIC / file).is_file() or (file[-1] == "/" and (STATIC / file).is_dir()) for file in known)
        else:
            # A picture by its name: webapp/gear/pictures.py lists those that are there.
            assert isinstance(filename, nodes.Concat)
            parts = [node.value if isinstance(node, nodes.Const) else "*" for node in filename.nodes]
            assert parts in (["pictures/", "*", ".svg"], ["pictures/", "*", "-wrong.svg"])


def test_it_has_every_picture_that_a_step_can_name():
    there = {path.stem for path in (STATIC / "pictures").glob("*.svg")}
    # And beside each the one of what goes wrong.
    assert set(WORDS) | {f"{name}-wrong" for name in WORDS} == there
    named = {step.picture for method in DEFAULT_METHODS for step in method.steps if step.picture}
    assert named <= there


@pytest.mark.parametrize("name", TEMPLATES)
def test_it_asks_for_no_number_field(name):
    """type=number swallows what was typed wrong, takes 1e3, and changes under a scrolling finger."""
    assert not re.search(r"type\s*=\s*[\"']?number", TEMPLATES[name])


def test_it_makes_no_number_field_in_a_form():
    """WTForms' IntegerField and DecimalField show themselves as type=number."""
    for path in WEBAPP.rglob("*.py"):
        text = path.read_text()
        for line in re.findall(r"^from wtforms[^\n]*import\s*(?:\([^)]*\)|[^\n]*)", text, flags=re.MULTILINE):
            assert not re.search(r"\b(Integer|Decimal|Float|IntegerRange)Field\b", line), path
        assert "NumberInput" not in text, path


@pytest.mark.parametrize("name", TEMPLATES)
def test_it_sends_every_form_with_a_token(name):
    for form in re.findall(r"<form\b.*?</form>", without_comments(TEMPLATES[name]), flags=re.DOTALL):
        if re.search(r'method="post"', form, re.IGNORECASE):
            assert "csrf_token" in form or "hidden_tag" in form, form[:200]
