"""The pour itself: areas and volumes, the order, its loads, joints, the clock of the day, a load too few."""
