"""The local web door: the pages and the open interface of one place, for this machine only."""
