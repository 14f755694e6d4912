"""The demo scenario: GeoJSON and CSV that ``python -m demo.make`` writes. Data only."""
