"""Judges a bundle of HL7 FHIR R4 (by the models of R4B): `python bundle.py FILE`. Exit 0, 1 with faults, 2 misused."""

import json
import sys

from fhir.resources.R4B.bundle import Bundle
from fhir.resources.R4B.observation import Observation
from pydantic import ValidationError


def main(arguments: list[str]) -> int:
    if len(arguments) != 1:
        print("usage: python bundle.py FILE", file=sys.stderr)
        return 2
    with open(arguments[0], encoding="utf-8") as file:
        bundle = json.load(file)
    try:
        Bundle.model_validate(bundle)
        resources = [entry["resource"] for entry in bundle["entry"]]
        for resource in resources:
            Observation.model_validate(resource)
    except ValidationError as fault:
        print(str(fault)[:2000], file=sys.stderr)
        return 1
    print(f"{len(resources)} observations")
    return 0 if resources else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
