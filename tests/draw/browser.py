"""What a browser makes of a page, and what a printer's file says."""

from __future__ import annotations

import json
import re
import subprocess
import tempfile
from html import unescape
from pathlib import Path
from typing import Any

FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
FLAGS += ["--disable-background-networking", "--disable-component-update", "--disable-sync"]


def answer(page: str, script: str) -> Any:
    """What a script that ends in a value says of a page in Chromium."""
    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        told = f'<pre id="answer"></pre><script>document.getElementById("answer").textContent=JSON.stringify({script})'
        (here / "page.html").write_text(f'<!DOCTYPE html><meta charset="utf-8">{page}{told}</script>', encoding="utf-8")
        command = ["chromium", *FLAGS, f"--user-data-dir={here / 'profile'}", "--dump-dom"]
        command.append((here / "page.html").as_uri())
        dumped = subprocess.run(command, check=True, capture_output=True, timeout=60, text=True).stdout
    (text,) = re.findall(r'<pre id="answer">(.*?)</pre>', dumped, re.DOTALL)
    return json.loads(unescape(text))


def pdf_text(pdf: bytes) -> str:
    """The words of a PDF, one blank between them."""
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(pdf)
        file.flush()
        command = ["pdftotext", "-layout", file.name, "-"]
        return " ".join(subprocess.run(command, check=True, capture_output=True, timeout=20, text=True).stdout.split())


def pdf_size(pdf: bytes) -> tuple[float, float]:
    """The width and height of its only page in points."""
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(pdf)
        file.flush()
        said = subprocess.run(["pdfinfo", file.name], check=True, capture_output=True, timeout=20, text=True).stdout
    assert re.search(r"^Pages:\s+1$", said, re.MULTILINE)
    (found,) = re.findall(r"^Page size:\s+([\d.]+) x ([\d.]+) pts", said, re.MULTILINE)
    return float(found[0]), float(found[1])
