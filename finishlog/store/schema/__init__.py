"""Engine-independent tables: columns, types and final checks."""
