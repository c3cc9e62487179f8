"""What the package says to a person, found by walking its source: templates of sentences, labels, records, pages."""

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import simulate

PACKAGE = Path(simulate.__file__).parent
FIGURE = "Xx"
"""Stands where a template takes a figure or a name: one word, which may begin a sentence."""
CODE = re.compile(r"function ?\(|=>|document\.|<style|<script|:root|\.workshop-|^import |await |data:|\\s|\[\^|@media")
QUOTED = re.compile(r"'([^'\n]*)'|\"([^\"\n]*)\"|`([^`]*)`")
ADDS = {"slider", "height_slider", "place_slider", "angle_slider", "whole_slider", "menu", "tick", "stated_menu"}
"""Helpers of a panel whose arguments are a key and then a label (`stated_menu`: the panel before them)."""
NAMES = {"description", "label"}
"""Keywords that carry a label."""


def _template(node: ast.AST) -> str | None:
    """A string with `FIGURE` where something is put in; None for what is no string."""
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else None
    if isinstance(node, ast.JoinedStr):
        parts = (part.value if isinstance(part, ast.Constant) else FIGURE for part in node.values)
        return "".join(map(str, parts))
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        left, right = _template(node.left), _template(node.right)
        return None if left is None and right is None else (left or FIGURE) + (right or FIGURE)
    return None


def _docstrings(tree: ast.AST) -> set[int]:
    return {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr) and isinstance(n.value, ast.Constant)}


def _said(node: ast.AST, silent: set[int]) -> Iterator[tuple[int, str]]:
    if id(node) in silent:
        return
    text = _template(node)
    if text is not None:
        yield node.lineno, text
        inner = [n for n in ast.walk(node) if isinstance(n, ast.FormattedValue)]
        for child in inner:
            yield from _said(child.value, silent)
        return
    for child in ast.iter_child_nodes(node):
        yield from _said(child, silent)


def _plain(text: str) -> str:
    text = re.sub(r"<[^<>]*>", " ", text).replace("\n", " ")
    text = re.sub(r"\{[^{}]*\}", FIGURE, text)
    return text.replace(f".{FIGURE} ", f". {FIGURE} ")  # a sentence that may follow


def templates(path: Path, least: int = 4) -> dict[str, str]:
    """Every string of a module of `least` words or more, keyed by where it stands; code of other languages is none."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = {}
    for line, text in _said(tree, _docstrings(tree)):
        if len(re.findall(r"[A-Za-z]{2,}", text)) >= least and not CODE.search(text):
            found[f"{path.relative_to(PACKAGE)}:{line} {len(found)}"] = _plain(text)
    return found


def records(path: Path) -> dict[str, str]:
    """Every string of a record file: questions of the wall, heads of cards, promises, terms."""
    found: dict[str, str] = {}

    def walk(part: object, at: str) -> None:
        if isinstance(part, dict):
            for key, value in part.items():
                walk(value, f"{at}.{key}")
        elif isinstance(part, list):
            for k, value in enumerate(part):
                walk(value, f"{at}[{k}]")
        elif isinstance(part, str) and " " in part:
            found[at] = _plain(part)

    walk(tomllib.loads(path.read_text(encoding="utf-8")), str(path.relative_to(PACKAGE)))
    return found


def pages(path: Path) -> dict[str, str]:
    """Every text of a page or script: between tags, in a name for those who do not see, in quotes."""
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".js":
        said = [a or b or c for a, b, c in QUOTED.findall(re.sub(r"(?<!:)//.*|/\*.*?\*/", "", text))]
        said = [re.sub(r"\$\{[^{}]*\}", FIGURE, one) for one in said]
    else:
        text = re.sub(r"\{%.*?%\}|\{#.*?#\}|<(style|script)\b.*?</\1>", "", text, flags=re.S)
        text = re.sub(r"\{\{.*?\}\}", FIGURE, text)
        said = [*re.findall(r'(?:aria-label|alt|title|placeholder)="([^"]*)"', text), *re.split(r"<[^<>]*>|\n", text)]
    said = [one for one in said if len(re.findall(r"[A-Za-z]{2,}", one)) > 2 and not CODE.search(one)]
    return {f"{path.relative_to(PACKAGE)} {k}": _plain(one) for k, one in enumerate(said)}


def everything(least: int = 4) -> dict[str, str]:
    """All that the package says, by place; strings of a module only where they have `least` words."""
    found: dict[str, str] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        found |= templates(path, least)
    for ending, said in {"toml": records, "j2": pages, "js": pages}.items():
        for path in sorted(PACKAGE.rglob(f"*.{ending}")):
            found |= said(path)
    return found


def labels(path: Path) -> dict[str, str]:
    """Labels of controls, buttons and fields in a module, without their unit; `FIGURE` where a name is put in."""
    found = {}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        at = 2 if name == "stated_menu" else 1
        given = [node.args[at]] if name in ADDS and len(node.args) > at else []
        given += [node.args[0]] if name == "button" and node.args else []
        given += [k.value for k in node.keywords if k.arg in NAMES and name != "plot"]
        for one in given:
            text = _template(one)
            if text and re.search("[A-Za-z]{2}", text.replace(FIGURE, "")):
                where = f"{path.relative_to(PACKAGE)}:{one.lineno}"
                found[where] = re.sub(r" \([^()]*\)", "", re.sub(r"\{\w*\}", FIGURE, text)).strip()
    return found
