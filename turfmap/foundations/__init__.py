"""What every floor stands on: errors, units, dates, planes, shapes, definitions, checks."""
