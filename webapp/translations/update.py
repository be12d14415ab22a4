"""Gathers the texts for the screen, and brings every language up to date.

    .venv/bin/python webapp/translations/update.py          after changing a text: messages.pot and all languages
    .venv/bin/python webapp/translations/update.py de       the same, and begin a new language

messages.pot holds every text that a screen can show, in English; a language is LANGUAGE/LC_MESSAGES/messages.po,
which a translator fills in. A text without a translation is shown in English. The .mo files that the app reads are
made here and not kept in the repository.
"""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import DEFAULT_KEYWORDS, extract_from_dir
from babel.messages.frontend import parse_mapping_cfg
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

HERE = Path(__file__).resolve().parent
WEBAPP = HERE.parent
POT = HERE / "messages.pot"
# What the code calls beside gettext's own names: N_ marks a text that is stored and translated when it is shown.
KEYWORDS = {**DEFAULT_KEYWORDS, "N_": None, "_l": None, "lazy_gettext": None, "lazy_ngettext": (1, 2)}


def extracted() -> Catalog:
    """Every text for the screen, with the files that hold it."""
    with open(HERE / "babel.cfg", encoding="utf-8") as told:
        methods, options = parse_mapping_cfg(told)
    catalog = Catalog(project="Drumside", charset="utf-8", fuzzy=False)
    found = extract_from_dir(str(WEBAPP), methods, options, KEYWORDS, comment_tags=("Translators:",))
    for name, _line, text, comments, context in sorted(found, key=lambda entry: (entry[0], entry[1])):
        # No line numbers: they would change with every edit above the text.
        catalog.add(text, None, [(name, None)], auto_comments=comments, context=context)
    return catalog


def text_of(catalog: Catalog) -> bytes:
    """The catalogue as a file, without what changes from run to run."""
    written = BytesIO()
    write_po(written, catalog, width=120, omit_header=catalog.locale is None, sort_by_file=True)
    return written.getvalue()


def bring_up_to_date(language: str, template: Catalog) -> None:
    """A language's texts: new ones are added, gone ones kept as comments; then the file that the app reads."""
    folder = HERE / language / "LC_MESSAGES"
    po = folder / "messages.po"
    folder.mkdir(parents=True, exist_ok=True)
    if po.exists():
        catalog = read_po(po.open("rb"), locale=language)
    else:
        comment = f"# Drumside's texts: {language}."
        catalog = Catalog(locale=language, header_comment=comment, charset="utf-8", fuzzy=False)
    catalog.project, catalog.version = "Drumside", "texts"
    catalog.last_translator = catalog.language_team = catalog.msgid_bugs_address = ""
    catalog.update(template, no_fuzzy_matching=True, update_creation_date=False)
    if language == "en":
        catalog.obsolete.clear()  # there was nothing to translate, so nothing is lost
    po.write_bytes(text_of(catalog))
    with open(folder / "messages.mo", "wb") as mo:
        write_mo(mo, catalog)


def main(new: list[str]) -> None:
    """The command."""
    template = extracted()
    POT.write_bytes(text_of(template))
    languages = sorted({path.parent.parent.name for path in HERE.glob("*/LC_MESSAGES/messages.po")} | {"en", *new})
    for language in languages:
        bring_up_to_date(language, template)
    print(f"{len(template)} texts; languages: {', '.join(languages)}")


if __name__ == "__main__":
    main(sys.argv[1:])
