"""The bench and on-car steps in dependency order, turns, and the needle advisor."""
