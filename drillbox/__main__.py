"""``python -m drillbox``."""

from drillbox.cli import main

main()
