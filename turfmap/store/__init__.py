"""The only floor that opens files: the GeoPackage, foreign formats, weather files."""
