import subprocess
import sys


def test_pictures_need_no_django() -> None:
    code = (
        "import pkgutil, importlib, sys, haccp.drawing as d\n"
        "[importlib.import_module(f'haccp.drawing.{m.name}') for m in pkgutil.iter_modules(d.__path__)]\n"
        "assert 'haccp.drawing.time_chart' in sys.modules\n"
        "print(sorted(name for name in sys.modules if name.split('.')[0] in {'django', 'celery'}))"
    )

    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"
