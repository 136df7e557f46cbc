"""The files of a log on a server: in pieces in the log, or in a folder that its machines share."""
