"""The pour: areas and volumes, the order, loads, joints, the clock of the day, running short."""
