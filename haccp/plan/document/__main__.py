"""`python -m haccp.plan.document` prints the JSON Schema of a plan file, as fixtures/schemas/plan-1.json holds it."""

import json
import sys

from haccp.plan.document.file import schema

sys.stdout.write(json.dumps(schema(), ensure_ascii=False, indent=1) + "\n")
