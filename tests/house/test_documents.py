"""Documents, wording and command line agree, and the guards notice when they stop doing so."""

import re
from importlib import import_module
from pathlib import Path

import click
import pytest

import pinloom
from pinloom import cli, messages
from pinloom.messages import Wording
from tests.house import documents, imports, texts

ROOT = Path(__file__).parents[2]
FINDINGS = (ROOT / "docs" / "findings.md").read_text(encoding="utf-8")
COMMANDS = (ROOT / "docs" / "guide" / "commands.md").read_text(encoding="utf-8")
GLOSSARY = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")
CHANGELOG = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
MODULES = imports.read_package(ROOT / "src" / "pinloom")


def _worded_by_stage() -> dict[str, list[str]]:
    return {
        stage: list(import_module(f"pinloom.messages.{stage}").WORDINGS)
        for stage in messages.STAGES
    }


# --- the repository as it is ----------------------------------------------------------------------


def test_every_code_is_explained() -> None:
    """Every finding's code has an entry in docs/findings.md under its stage, and no other has."""
    assert documents.findings_faults(_worded_by_stage(), FINDINGS) == []


def test_every_stage_has_a_section() -> None:
    """docs/findings.md has a section for every stage, in the order of the stages."""
    assert re.findall(r"^## (\w+)$", FINDINGS, re.MULTILINE) == [
        stage.capitalize() for stage in messages.STAGES
    ]


def test_every_wording_is_a_sentence() -> None:
    """What is wrong and what to do are sentences; codes are plain words."""
    assert documents.wording_faults(messages.wordings()) == []


def test_every_code_is_worded_and_made() -> None:
    """No finding is made without wording or values for it, and no wording is left over."""
    assert documents.usage_faults(messages.wordings(), MODULES) == []


def test_every_command_has_help() -> None:
    """Each command and each option says what it is for."""
    assert documents.help_faults(cli.pinloom, "pinloom") == []


def test_every_command_is_in_the_guide() -> None:
    """The guide describes each command with its arguments and options, and no other command."""
    assert documents.guide_faults(cli.pinloom, "pinloom", COMMANDS) == []


def test_list_of_commands_says_what_the_commands_say() -> None:
    """The line shown by `pinloom --help` is the command's own first line."""
    context = click.Context(cli.pinloom)
    for name, (_, line) in cli.COMMANDS.items():
        command = cli.pinloom.get_command(context, name)
        assert command is not None
        assert command.get_short_help_str(limit=200) == line, name


def test_every_glossary_entry_is_a_class() -> None:
    """Each entry of the glossary names a class or type of the package."""
    names = documents.glossary_names(GLOSSARY)
    rows = [line for line in GLOSSARY.splitlines() if line.startswith("| ")]
    tables = sum(line.startswith("| word |") for line in rows)
    assert len(names) == len(rows) - tables, "a row is not of the form | word | `Class` | meaning |"
    assert set(names) - documents.defined_names(MODULES) == set()


def test_readme_opens_with_the_job_and_carries_the_cautions() -> None:
    """First the job in a paragraph, then the two commands; every caution is there."""
    head, job, *_ = README.split("\n\n")
    assert head == "# pinloom"
    assert job.startswith("A locksmith who")
    assert README.index("./dev demo") < README.index("./dev test") < README.index("## Before")
    assert documents.missing_cautions(README) == []


def test_changelog_leads_to_the_present() -> None:
    """The changelog has a section for what is not yet released, and for a version that is out."""
    versions = re.findall(r"^## \[([^\]]+)\]", CHANGELOG, re.MULTILINE)
    assert versions[0] == "Unreleased"
    assert len(versions) == 1 or versions[1] == pinloom.__version__
    assert re.search(r"^- \S", CHANGELOG, re.MULTILINE)


def test_links_lead_to_files() -> None:
    """Every link between the pages of the repository leads to a file."""
    pages = {n: t for n, t in texts.committed_texts(ROOT).items() if n.endswith(".md")}
    pages |= {"README.md": README}
    assert [f for n, t in pages.items() for f in documents.broken_links(n, t, ROOT)] == []


# --- the guards notice ----------------------------------------------------------------------------

PAGE = "## Chart\n\n### `twice`\n\nTwo rows.\n\n## Proof\n\n### `opens`\n\nIt opens.\n"
STAGED = {"chart": ["twice"], "proof": ["opens"]}


@pytest.mark.parametrize(
    ("page", "fault"),
    [
        (PAGE.replace("### `opens`", "opens"), "opens has no entry"),
        (PAGE.replace("Two rows.", ""), "twice has an empty entry"),
        (PAGE.replace("## Proof\n", ""), "opens stands under chart, not proof"),
        (PAGE + "\n### `gone`\n\nOld.\n", "gone is explained but not worded"),
    ],
)
def test_a_gap_in_the_findings_page_is_noticed(page: str, fault: str) -> None:
    """A complete page has no fault; each way of spoiling it gives that one."""
    assert documents.findings_faults(STAGED, PAGE) == []
    assert documents.findings_faults(STAGED, page) == [fault]


def test_a_code_explained_twice_is_noticed() -> None:
    """A second entry of one code is refused."""
    with pytest.raises(ValueError, match="twice is explained twice"):
        documents.explained(PAGE + "### `twice`\n")


def test_bad_wording_is_noticed() -> None:
    """A wording without a full stop and a code with a space are named."""
    good = Wording(what="It opens.", do="Check {door}.")
    assert documents.wording_faults({"opens-it": good}) == []
    bad = {"Opens it": good, "opens": Wording(what="", do="Check.")}
    assert documents.wording_faults(bad) == [
        "Opens it: a code is lower-case words joined by hyphens",
        "opens: what is not a sentence",
    ]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('fault("twice", place, door=d)\nnote("new")', "pinloom.chart.a:2: new has no wording"),
        ('findings.fault("twice", place)', "pinloom.chart.a:1: twice lacks door"),
        ("fault(code)", "twice is worded but never made"),
    ],
)
def test_a_gap_between_code_and_wording_is_noticed(text: str, fault: str) -> None:
    """A finding made as worded has no fault; each way of parting the two gives that one."""
    wordings = {"twice": Wording(what="{door} is there twice.", do="Drop one.")}
    for good in ('fault("twice", place, door=d)', 'fault("twice", **values)'):
        assert documents.usage_faults(wordings, {"pinloom.chart.a": good}) == []
    assert documents.usage_faults(wordings, {"pinloom.chart.a": text}) == [fault]
    own = {"pinloom.messages.chart": '"twice"', "pinloom.chart.a": "pass"}
    assert documents.usage_faults(wordings, own) == ["twice is worded but never made"]


def _tool(option_help: str | None = "Where to.", command_help: str | None = "Cut.") -> click.Group:
    cut = click.Command(
        "cut",
        help=command_help,
        params=[click.Argument(["chart"]), click.Option(["-o", "--out"], help=option_help)],
    )
    return click.Group("tool", commands=[cut, click.Group("shelf", help="Shelf.", commands=[])])


def test_missing_help_is_noticed() -> None:
    """A command or an option without help is named."""
    assert documents.help_faults(_tool(), "tool") == []
    assert documents.help_faults(_tool(option_help=None), "tool") == ["tool cut -o has no help"]
    assert documents.help_faults(_tool(command_help=" "), "tool") == ["tool cut has no help"]


GUIDE = "## `tool cut`\n\n`tool cut CHART --out DIR` cuts.\n\n## `tool shelf`\n\nShelf.\n"


@pytest.mark.parametrize(
    ("page", "fault"),
    [
        (GUIDE.replace("--out", "--output"), "tool cut --out is not in the guide"),
        (GUIDE.replace("CHART", ""), "tool cut CHART is not in the guide"),
        (GUIDE.replace("## `tool shelf`", ""), "tool shelf is not in the guide"),
        (GUIDE + "## `tool paint`\n", "tool paint is in the guide only"),
    ],
)
def test_a_gap_in_the_guide_is_noticed(page: str, fault: str) -> None:
    """A complete guide has no fault; each way of spoiling it gives that one."""
    assert documents.guide_faults(_tool(), "tool", GUIDE) == []
    assert documents.guide_faults(_tool(), "tool", page) == [fault]


def test_a_glossary_entry_without_a_class_is_noticed() -> None:
    """Names come from rows with a class in the second column, and are looked up in the code."""
    page = (
        "| word | class | meaning |\n|---|---|---|\n| pin | `Pin` | steel |\n| sun | `Sun` | hot |"
    )
    assert documents.glossary_names(page) == ["Pin", "Sun"]
    code = {"a": "class Pin: pass\nCuts = tuple[int, ...]\nN: int = 3\n"}
    assert documents.defined_names(code) == {"Pin", "Cuts", "N"}


@pytest.mark.parametrize("name", sorted(documents.CAUTIONS))
def test_a_missing_caution_is_noticed(name: str) -> None:
    """A README with the words of one caution blotted out lacks that caution."""
    flat = re.sub(r"\s+", " ", README).lower()
    blotted = flat.replace(documents.CAUTIONS[name][-1], "")
    assert name in documents.missing_cautions(blotted)


def test_a_broken_link_is_noticed(tmp_path: Path) -> None:
    """Links are followed from the page they stand on; addresses elsewhere are left alone."""
    (tmp_path / "docs").mkdir()
    (tmp_path / "README.md").write_text("x")
    page = "[a](../README.md) [b](gone.md#part) [c](https://example.org/x) [d](#here)"
    assert documents.broken_links("docs/a.md", page, tmp_path) == ["docs/a.md: gone.md"]
