"""Say which dye is in which ink, which inks share dyes, and whether one system would have been enough; prints only.

The readings beside this script are invented: no such inks, plates or benches exist.
"""

from pathlib import Path

import lanewise

READINGS = Path(__file__).with_name("writing_inks.csv")


def main() -> None:
    found = lanewise.measure(lanewise.to_frame(lanewise.read(READINGS)))

    named = lanewise.identify(found, none=0.5, claim=0.9)
    print("Which dye is in what")
    for row in named.mixtures.itertuples():
        dyes = " + ".join(row.dyes) or "no candidate"
        print(f"  {row.sample}: {dyes}; left over: {', '.join(row.left_over) or 'nothing'}")

    print("\nWhich inks share dyes")
    shared = lanewise.shared_dyes(found, named)
    print(shared.to_frame().to_string())

    print("\nOne plate alone, and no colours")
    plate = found.marks["plate"] == "bench 3 ester"
    print(lanewise.identify(lanewise.measure(found.marks[plate].assign(colour=""))))

    print("\nA library of these standards")
    library = lanewise.library_of(found, READINGS.name)
    print(library)
    print(lanewise.discrimination(library))


if __name__ == "__main__":
    main()
