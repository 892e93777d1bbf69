"""Makes the stubs of the schema: python make_stubs.py FOLDER

The folder then goes on PYTHONPATH. Stubs are made and not kept, so that they fit the schema beside
them and the version of grpcio that is installed.
"""

import pathlib
import sys

import grpc_tools
from grpc_tools import protoc

SCHEMA = pathlib.Path(__file__).resolve().parents[2] / "proto"


def main(folder: pathlib.Path) -> int:
    folder.mkdir(parents=True, exist_ok=True)
    known = pathlib.Path(grpc_tools.__file__).parent / "_proto"
    files = sorted(str(path.relative_to(SCHEMA)) for path in SCHEMA.glob("obvert/**/*.proto"))
    out = [f"--python_out={folder}", f"--grpc_python_out={folder}"]
    return protoc.main(["protoc", f"-I{SCHEMA}", f"-I{known}", *out, *files])


if __name__ == "__main__":
    sys.exit(main(pathlib.Path(sys.argv[1])))
