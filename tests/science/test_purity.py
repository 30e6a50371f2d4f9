"""The science runs without a web framework, a database or a clock."""

import subprocess
import sys

CODE = """
import pkgutil, sys, importlib, haccp.science
for module in pkgutil.walk_packages(haccp.science.__path__, "haccp.science."):
    importlib.import_module(module.name)
print(",".join(sorted({"django", "celery", "rest_framework"} & set(sys.modules))), end="")
"""


def test_the_science_imports_no_framework() -> None:
    done = subprocess.run([sys.executable, "-c", CODE], capture_output=True, text=True, check=True)

    assert done.stdout == ""
