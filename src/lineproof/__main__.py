"""`python -m lineproof`."""

import sys

from lineproof.cli.main import main

sys.exit(main())
