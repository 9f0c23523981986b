"""Plan a sheet for leaf pigments: refused once, mended, printed, filled in and read back. All readings are invented."""

import lanewise

leaves = ["spinach", "copper beech", "ivy"]
standards = ["carotene", "chlorophyll mix"]
jar = lanewise.Vessel(diameter=80, height=130)
asked = {
    "height": 120,
    "replicates": 2,
    "blank": True,
    "seed": 8,
    "vessel": jar,
    "system": "petroleum ether:acetone 9:1",
    "stationary_phase": "chromatography paper",
    "title": "Leaf pigments (invented)",
    "plate": "leaves 1",
}

# Nine lanes on a flat sheet as wide as a hand: it does not go into the jar, and the plan says what would.
try:
    lanewise.plan(leaves, standards, width=100, **asked)
except lanewise.PlanError as refused:
    print(refused)

# Folded down the middle it does.
plan = lanewise.plan(leaves, standards, width=100, standing="folded", **asked)
print(plan)

# What the bench needs: the sheet to print, a table to fill in, the report of the plan.
with open("leaf_sheet.pdf", "wb") as file:
    file.write(lanewise.sheet_figure(plan, page="A4").draw("pdf"))
with open("leaf_marks.csv", "w", encoding="utf-8") as file:
    file.write(plan.marks_table())
lanewise.write("leaf_plan.html", lanewise.render(lanewise.plan_report(plan), "html"))

# After the run the table is filled in; here a few invented numbers do it, read on the printed scale.
rf = {"carotene": 0.95, "chlorophyll mix": 0.38, "spinach": 0.40, "copper beech": 0.37, "ivy": 0.41}
rows = plan.marks_table().splitlines()
names = rows[1].split(",")
for number in range(2, len(rows)):
    if rows[number].startswith("#"):
        continue
    row = dict(zip(names, rows[number].split(","), strict=True))
    row |= {"origin_mm": "15", "front_mm": "108"}
    row |= {"state": "absent"} if row["role"] == "blank" else {"centre_mm": f"{15 + 93 * rf[row['sample']]:.1f}"}
    rows[number] = ",".join(row[name] for name in names)
study = lanewise.read("\n".join(rows).encode(), name="leaf_marks.csv")

# The check bar of the print was 99.2 mm long: lengths are corrected, Rf is not touched.
printed = lanewise.scale_of_print(99.2, 0.2)
corrected = printed.correct(study)
for one in (study, corrected):
    spots = lanewise.measure(lanewise.to_frame(one)).spots
    ivy = spots[spots["sample"] == "ivy"].iloc[0]
    print(f"front at {one.plates[0].lanes[0].front or one.plates[0].front:.1f} mm, Rf of ivy {ivy['rf']:.3f}")
