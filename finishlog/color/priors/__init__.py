"""What `finishlog.color` starts from before a log has taught it anything, each figure with what it rests on."""
