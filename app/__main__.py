"""`python -m app` is the same as `wetside`."""

import sys

from app.main import main

sys.exit(main())
