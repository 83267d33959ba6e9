"""Walks through the garden and writes down what came of it: ``python -m tests.walk``."""

import os

os.environ["LASTLAMP_LOG_LEVEL"] = "error"

from service.app import app
from tests.client import Client
from tests.walk.document import files
from tests.walk.walking import FOLDER, asking, walk

for name, text in files(list(walk(asking(Client(app))))).items():
    (FOLDER / name).write_text(text, encoding="utf-8")
