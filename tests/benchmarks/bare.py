"""The least that a Flask app with a database can do: one view that inserts one row and answers.

Served by the same gunicorn, with the same pragmas: what is between this and a bench is what Drumside does.
"""

import os

from flask import Flask, request

from webapp.store.connect import connect, write

app = Flask(__name__)


def make(path: str) -> None:
    """The database with its one table."""
    db = connect(path, create=True)
    db.conn.execute("CREATE TABLE IF NOT EXISTS row (id INTEGER PRIMARY KEY, text TEXT NOT NULL) STRICT")
    db.close()


@app.post("/row")
def add_row():
    """One row, one transaction."""
    db = connect(os.environ["DRUMSIDE_DATABASE"])
    try:
        with write(db):
            db.conn.execute("INSERT INTO row (text) VALUES (?)", (request.form["text"],))
    finally:
        db.close()
    return "", 303, {"Location": "/"}


@app.get("/sign-in")
def alive():
    """What demo.serving asks for until it comes."""
    return ""
