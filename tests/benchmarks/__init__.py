"""What the pipeline costs; run by `make bench`, never by the tests."""
