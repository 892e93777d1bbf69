"""Writes the bill of materials of obvertd as CycloneDX JSON and holds it against CycloneDX's schema.

    cargo metadata --locked --format-version 1 --filter-platform TARGET | sbom.py OUT.cdx.json

Lists every crate that a release of obvertd is built from for this platform's targets, with version,
licence, checksum of Cargo.lock where there is one, and what it needs. Tests and build tools that only
other crates of the workspace need are left out.
"""

import json
import sys
import tomllib
from pathlib import Path

from cyclonedx.contrib.license.factories import LicenseFactory
from cyclonedx.model import HashAlgorithm, HashType
from cyclonedx.model.bom import Bom
from cyclonedx.model.component import Component, ComponentType
from cyclonedx.output.json import JsonV1Dot6
from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator
from packageurl import PackageURL

ROOT = "obvert-server"
# A bill without these was not made from obvertd.
EXPECTED = {"tonic", "prost", "tokio", "sled", "serde", "tracing", "tera", "typst", "rustls"}


def reached(metadata):
    """Package ids that the root is built from, and the needs of each; dev-dependencies do not count."""
    nodes = {node["id"]: node for node in metadata["resolve"]["nodes"]}
    root = next(p["id"] for p in metadata["packages"] if p["name"] == ROOT)
    needs, open_ids = {}, [root]
    while open_ids:
        current = open_ids.pop()
        if current not in needs:
            needs[current] = [dep["pkg"] for dep in nodes[current]["deps"] if is_built(dep)]
            open_ids.extend(needs[current])
    return root, needs


def is_built(dep):
    """Whether a build needs it, and not only a test."""
    return any(kind["kind"] != "dev" for kind in dep["dep_kinds"])


def checksums():
    """SHA-256 of each crate by name and version, as Cargo.lock has it."""
    lock = tomllib.loads(Path("Cargo.lock").read_text(encoding="utf-8"))
    return {(p["name"], p["version"]): p.get("checksum") for p in lock["package"]}


def component(package, checksum):
    """One crate."""
    licence = (package["license"] or "").replace("/", " OR ")
    name, version = package["name"], package["version"]
    return Component(
        type=ComponentType.APPLICATION if name == ROOT else ComponentType.LIBRARY,
        name=name,
        version=version,
        bom_ref=f"pkg:cargo/{name}@{version}",
        purl=PackageURL("cargo", name=name, version=version),
        licenses=[LicenseFactory().make_from_string(licence)] if licence else [],
        hashes=[HashType(alg=HashAlgorithm.SHA_256, content=checksum)] if checksum else [],
    )


def main():
    """Reads metadata on standard input and writes the bill."""
    metadata = json.load(sys.stdin)
    packages = {package["id"]: package for package in metadata["packages"]}
    root, needs = reached(metadata)
    known = checksums()
    parts = {
        id: component(packages[id], known[(packages[id]["name"], packages[id]["version"])])
        for id in sorted(needs)
    }
    bom = Bom(components=[part for id, part in parts.items() if id != root])
    bom.metadata.component = parts[root]
    for id, part in parts.items():
        bom.register_dependency(part, [parts[need] for need in needs[id]])
    text = JsonV1Dot6(bom).output_as_string(indent=2)
    wrong = JsonStrictValidator(SchemaVersion.V1_6).validate_str(text)
    if wrong:
        sys.exit(f"sbom: the schema of CycloneDX 1.6 refuses it: {wrong}")
    missing = EXPECTED - {part.name for part in parts.values()}
    if missing:
        sys.exit(f"sbom: {', '.join(sorted(missing))} are not in it")
    Path(sys.argv[1]).write_text(text, encoding="utf-8")
    print(f"  {sys.argv[1]}: {len(parts)} crates, CycloneDX 1.6")


if __name__ == "__main__":
    main()
