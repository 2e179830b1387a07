"""`python -m pipeline` is the same command as `apparatus`."""

from pipeline.cli import main

if __name__ == "__main__":
    main()
