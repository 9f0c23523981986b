"""From a photograph to Rf: print intervals and flags, draw what was read over the picture.

The photograph beside this script is simulated and its inks are invented.
"""

from importlib.util import find_spec
from pathlib import Path

import lanewise

PHOTOGRAPH = Path(__file__).with_name("inks_photograph.jpg")
KNOWN = {"size": "80 x 100", "names": "ink A; ink B; ink C; ink D"}


def main() -> None:
    study = lanewise.read(PHOTOGRAPH, format="photograph", options=KNOWN)
    found = lanewise.measure(lanewise.to_frame(study))
    columns = ["sample", "spot", "state", "rf", "rf_low", "rf_high"]
    print(found.spots[columns].round(4).to_string(index=False))

    print("\nFlags")
    (plate,) = study.plates
    print_flags("the plate", plate.note)
    for lane in plate.lanes:
        print_flags(lane.sample, lane.note)
        for spot in lane.spots:
            print_flags(f"{lane.sample}, spot {spot.label}", spot.note)

    Path("overlay.svg").write_bytes(overlay())
    print("\nWrote overlay.svg: look at it before you use a number.")


def print_flags(where: str, note: str) -> None:
    from lanewise_photo.flags import flags_in

    for flag in flags_in(note):
        print(f"  {where}: {flag.sentence}. {flag.advice}".rstrip())


def overlay() -> bytes:
    from lanewise_photo import Corrections, draw_overlay, read_corrected
    from lanewise_photo.plugin import PhotographOptions
    from lanewise_photo.settings import settings_of

    data, settings = PHOTOGRAPH.read_bytes(), settings_of(PhotographOptions(**KNOWN))
    reading = read_corrected(data, PHOTOGRAPH.name, settings, Corrections())
    return draw_overlay(reading, data)


if __name__ == "__main__":
    if find_spec("lanewise_photo") is None:
        print("Nothing was done: to read photographs, install the package lanewise-photo.")
    else:
        main()
