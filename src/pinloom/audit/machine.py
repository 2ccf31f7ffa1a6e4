"""The audit as machines read it; the form is a promise to users (docs/guide/audit.md)."""

from pinloom.audit.records import Audit

Json = dict[str, "Json"] | list["Json"] | str | int


def as_json(audit: Audit) -> dict[str, Json]:
    """``doors`` by name, ``faults`` as [key, door], ``census`` as keys by number of doors.

    The census counts exactly fitting keys, as ``combinations`` does; numbers of doors that no key
    opens are left out. No cuts are told.
    """
    exact = audit.exact
    return {
        "doors": {
            one.door: {
                "combinations": one.exact,
                "tolerant": one.tolerant,
                "issued": one.issued,
            }
            for one in audit.doors
        },
        "faults": [[key, door] for key, door in audit.faults],
        "census": {
            "opens": {str(doors): keys for doors, keys in (exact.opens if exact else ())},
        },
    }
