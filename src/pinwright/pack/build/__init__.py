"""What must be bought and joined for a plan: items with terminals, nets, numbered wires."""

from __future__ import annotations

from pinwright.pack.build.model import Build, Item, Net, Stage, Terminal, Wire

__all__ = ["Build", "Item", "Net", "Stage", "Terminal", "Wire"]
