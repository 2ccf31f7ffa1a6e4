"""Access chart + hardware -> cuts of every key, or a reasoned refusal, or an honest giving up."""

from pinloom.design.solve import design

__all__ = ["design"]
