"""Weather, windows, holds and what is due: columns in, columns out."""
