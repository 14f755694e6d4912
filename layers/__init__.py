"""What is known: declarations of the map's layers and reference tables. Data only, no code."""
