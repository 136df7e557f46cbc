"""What is asked about an entry before it is kept: odd, told twice, against a sheet."""
