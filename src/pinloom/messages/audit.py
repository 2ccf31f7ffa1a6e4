"""Wording of the findings of the audit stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {
    "audit-other-chart": Wording(
        what="This folder holds a design of another chart, so the two cannot be set side by side.",
        do="Give the folder of a design with the same doors, keys and marks.",
    ),
    "audit-pictures-unwritable": Wording(
        what="The pictures cannot be written here ({reason}).",
        do="Give another folder with --pictures.",
    ),
    "audit-not-proved": Wording(
        what="The proof of this job has faults ({faults}), so its figures are those of a system "
        "that does not do what its chart says.",
        do="Read the faults first and mend them, then audit again.",
    ),
    "audit-unreadable": Wording(
        what="The pins of these doors are none of their cylinder's format, so nothing is counted "
        "for them: {doors}.",
        do="Correct the pins as the proof's faults say, then audit again.",
    ),
    "audit-census-skipped": Wording(
        what="The key space of this format is too large to walk, so there is no census of it.",
        do="Use the combinations of each door, which are exact for every format.",
    ),
    "audit-incidental-master": Wording(
        what="A key nobody ordered would open {doors} doors; it differs from key {nearest} in "
        "{cuts} of its cuts.",
        do="Ask for a design with the fewest incidental keys, take doors off the masters or shared "
        "keys, and restrict the blanks, so that such a key cannot be cut by chance.",
    ),
    "audit-key-space": Wording(
        what="Of {keys} keys that can be cut, {opening} would open at least one door ({share} %), "
        "wear and clearance counted.",
        do="Weigh this before the first blank is cut: fewer master pins, keys on fewer doors, or "
        "a cylinder of more chambers lower it.",
    ),
    "audit-fragile-doors": Wording(
        what="{count} doors refuse some key by one chamber and one least step alone; most such "
        "keys: {doors}.",
        do="Keep keys and cylinders of these doors to close tolerance, replace worn keys by "
        "originals cut to code, or ask for a design with the widest margins.",
    ),
    "audit-one-step-more": Wording(
        what="{pairs} of {refusals} refusals would be openings were the cylinders one step looser.",
        do="Use cylinders in good order, retire worn keys, and ask for a design with the widest "
        "margins where the doors matter.",
    ),
    "audit-key-at-stake": Wording(
        what="Key {key}, which opens {behind} doors, shares {through} of them with lesser keys; in "
        "the classic argument (Blaze, IEEE Security & Privacy 1(2), 2003) it could be inferred "
        "from one of those in at most {trials} trials.",
        do="Single-key the doors that matter most, keep lesser keys off shared cylinders, use "
        "fewer master pins or chambers kept constant, restrict the blanks, divide large systems "
        "into core groups, and account for every key and blank.",
    ),
    "audit-en1303-format": Wording(
        what="By its number of codes and chambers this format could meet grade {grade} of EN 1303 "
        "key-related security (as a German trade glossary gives the table).",
        do="Take the grade from the maker's certificate of the cylinder: it is the maker's to "
        "give, and no calculation replaces it.",
    ),
    "audit-en1303-keys": Wording(
        what="{count} keys have more equal cuts, in all or in a row, than the format's grade "
        "allows: {keys}.",
        do="Give these keys other cuts where the customer asks for that grade.",
    ),
    "audit-selective-masters": Wording(
        what="{count} masters cut across the others: {keys}. ANSI/BHMA A156.28 recommends at most "
        "one, because each costs about 20 to 25 % of the capacity where it is used.",
        do="Ask whether each of them is needed, or could be two keys on one ring.",
    ),
    "audit-cross-keyed": Wording(
        what="{count} doors are cross-keyed, worked side by side by keys of different holders: "
        "{doors}. ANSI/BHMA A156.28 says that this lowers a cylinder's security and hinders "
        "growth.",
        do="Keep such doors to shared entrances, and off the doors that matter.",
    ),
}
