"""Area, setbacks, no-spray and treatable ground: arrays in, arrays out."""
