"""Color: the curve of a job, and how good the forecasts were."""
