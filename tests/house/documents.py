"""Reads documents, wording and the command line, and says where one lacks what another has.

- A finding's code is worded in `pinloom.messages`, explained in docs/findings.md under its stage,
  and used in the code; nothing is worded or explained that does not exist. A finding carries every
  value that its wording has a placeholder for.
- A command, an option and an argument say what they are for, and stand in docs/guide/commands.md.
- A glossary entry names a class or type of the package.
- The README carries every caution and opens with the job.
- A link to a file of the repository leads to a file.
"""

import ast
import re
import string
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

import click

from pinloom.messages import Wording

#: what each caution of the README must say, in its own words
CAUTIONS = {
    "authorised work only": ("authorised work only", "written authority first"),
    "egress and fire doors": ("egress and fire doors", "without a key"),
    "double-cylinder locks": ("double-cylinder lock",),
    "fire-service key boxes": ("fire-service key boxes", "before the rekey"),
    "lift and fire-service keys": ("lift and fire-service keys", "off the system"),
    "nominal geometry": ("nominal geometry", "tried by hand"),
    "who decides": ("local codes", "authority having jurisdiction", "licensed practice"),
}

_FINDING_MAKERS = frozenset({"fault", "caution", "note"})
_NOT_VALUES = frozenset({"place", "first", "code"})
_CODE_HEADING = re.compile(r"^### `([^`]+)`$")
_GLOSSARY_ROW = re.compile(r"^\| [^|]+ \| `(\w+)` \|", re.MULTILINE)
_LINK = re.compile(r"\]\(([^)#\s]+)(?:#[^)]*)?\)")


# --- findings -------------------------------------------------------------------------------------


def explained(page: str) -> dict[str, tuple[str, str]]:
    """Code -> (section, text below the heading) of every entry of docs/findings.md."""
    found: dict[str, tuple[str, str]] = {}
    section = code = ""
    for line in page.splitlines():
        heading = _CODE_HEADING.match(line)
        if heading:
            code = heading[1]
            if code in found:
                raise ValueError(f"{code} is explained twice")
            found[code] = (section, "")
        elif line.startswith("## "):
            section, code = line.removeprefix("## ").strip().lower(), ""
        elif code:
            found[code] = (section, found[code][1] + line.strip())
    return found


def findings_faults(by_stage: Mapping[str, Iterable[str]], page: str) -> list[str]:
    """What docs/findings.md lacks, has too much or in the wrong section."""
    entries = explained(page)
    faults = []
    known = set()
    for stage, codes in by_stage.items():
        for code in codes:
            known.add(code)
            if code not in entries:
                faults.append(f"{code} has no entry")
            elif entries[code][0] != stage:
                faults.append(f"{code} stands under {entries[code][0]}, not {stage}")
            elif not entries[code][1]:
                faults.append(f"{code} has an empty entry")
    return faults + [f"{code} is explained but not worded" for code in entries.keys() - known]


def wording_faults(wordings: Mapping[str, Wording]) -> list[str]:
    """Wordings that are no sentences, and codes that are no plain words."""
    faults = []
    for code, wording in wordings.items():
        if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code):
            faults.append(f"{code}: a code is lower-case words joined by hyphens")
        for part, text in (("what", wording.what), ("do", wording.do)):
            if not text.strip().endswith((".", "?", "!", "}")):
                faults.append(f"{code}: {part} is not a sentence")
    return faults


def usage_faults(wordings: Mapping[str, Wording], modules: Mapping[str, str]) -> list[str]:
    """Codes made but not worded, worded but not made, and placeholders without a value."""
    faults = []
    mentioned: set[str] = set()
    for module, text in modules.items():
        if module.startswith("pinloom.messages"):
            continue
        tree = ast.parse(text)
        mentioned |= {
            n.value
            for n in ast.walk(tree)
            if isinstance(n, ast.Constant) and isinstance(n.value, str)
        }
        for call, code in _made_findings(tree):
            where = f"{module}:{call.lineno}: {code}"
            if code not in wordings:
                faults.append(f"{where} has no wording")
            elif (lacking := _placeholders(wordings[code]) - _values(call)) and _is_plain(call):
                faults.append(f"{where} lacks {', '.join(sorted(lacking))}")
    return faults + [f"{code} is worded but never made" for code in wordings.keys() - mentioned]


def _made_findings(tree: ast.AST) -> Iterator[tuple[ast.Call, str]]:
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else None
        name = node.func.id if isinstance(node.func, ast.Name) else name
        first = node.args[0] if node.args else None
        code = first.value if isinstance(first, ast.Constant) else None
        if name in _FINDING_MAKERS and isinstance(code, str):
            yield node, code


def _values(call: ast.Call) -> set[str]:
    return {word.arg for word in call.keywords if word.arg} - _NOT_VALUES


def _is_plain(call: ast.Call) -> bool:
    return all(word.arg for word in call.keywords)  # no **values


def _placeholders(wording: Wording) -> set[str]:
    pieces = string.Formatter().parse(wording.what + wording.do)
    return {re.split(r"[.\[]", name)[0] for _, name, _, _ in pieces if name}


# --- command line ---------------------------------------------------------------------------------


def commands(group: click.Group, path: str) -> Iterator[tuple[str, click.Command]]:
    """Every command below a group with its full name, groups included."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        if command is None:
            raise ValueError(f"{path} lists {name} but does not have it")
        yield f"{path} {name}", command
        if isinstance(command, click.Group):
            yield from commands(command, f"{path} {name}")


def help_faults(group: click.Group, path: str) -> list[str]:
    """Commands and options without help."""
    faults = []
    for name, command in commands(group, path):
        if not (command.help or "").strip():
            faults.append(f"{name} has no help")
        for parameter in command.params:
            if isinstance(parameter, click.Option) and not (parameter.help or "").strip():
                faults.append(f"{name} {parameter.opts[0]} has no help")
    return faults


def guide_faults(group: click.Group, path: str, page: str) -> list[str]:
    """Commands and options that the guide does not describe, and commands that do not exist.

    A command has a heading with its full name in backticks; its options, and its arguments in
    capitals, stand in backticks below, before the next heading of a command.
    """
    sections = _command_sections(page, path)
    faults = []
    existing = set()
    for name, command in commands(group, path):
        existing.add(name)
        if name not in sections:
            faults.append(f"{name} is not in the guide")
            continue
        for parameter in command.params:
            word = _word(parameter)
            if not re.search(rf"`[^`]*(?<![\w-]){re.escape(word)}(?![\w-])[^`]*`", sections[name]):
                faults.append(f"{name} {word} is not in the guide")
    return faults + [f"{name} is in the guide only" for name in sections.keys() - existing]


def _word(parameter: click.Parameter) -> str:
    if isinstance(parameter, click.Argument):
        return parameter.human_readable_name.strip("[].").upper()
    return max(parameter.opts, key=len)


def _command_sections(page: str, path: str) -> dict[str, str]:
    heading = re.compile(rf"^#+ `({re.escape(path)} [a-z -]+)`$", re.MULTILINE)
    parts = heading.split(page)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


# --- glossary, README, links ----------------------------------------------------------------------


def glossary_names(page: str) -> list[str]:
    """The class of every row of the glossary."""
    return _GLOSSARY_ROW.findall(page)


def defined_names(modules: Mapping[str, str]) -> set[str]:
    """Classes and module-level names of the package."""
    names = set()
    for text in modules.values():
        for node in ast.parse(text).body:
            if isinstance(node, ast.ClassDef):
                names.add(node.name)
            elif isinstance(node, ast.Assign):
                names |= {target.id for target in node.targets if isinstance(target, ast.Name)}
            elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
                names.add(node.target.id)
    return names


def missing_cautions(page: str) -> list[str]:
    """The cautions that a page does not carry."""
    flat = re.sub(r"\s+", " ", page).lower()
    return [name for name, words in CAUTIONS.items() if not all(word in flat for word in words)]


def broken_links(name: str, text: str, root: Path) -> list[str]:
    """Links of one page that lead to no file of the repository."""
    faults = []
    for target in _LINK.findall(text):
        if "://" in target or target.startswith("mailto:"):
            continue
        if not (root / name).parent.joinpath(target).exists():
            faults.append(f"{name}: {target}")
    return faults
