"""Makes the two embedded fonts from Inter (SIL Open Font Licence 1.1; Debian package fonts-inter).

Run: python make_fonts.py DIRECTORY_OF_INTER_OTF   (needs fonttools)
Keeps Latin, Greek, Cyrillic, punctuation, arrows and the signs figures use; makes the tabular figures the default
ones, because not every reader of SVG honours font-feature-settings; renames the family, so that a reader's own
Inter is never mistaken for this cut.
"""
import sys
from fontTools import subset
from fontTools.ttLib import TTFont

FAMILY = "Lengthwise Sans"
RANGES = [(0x20, 0x7E), (0xA0, 0x17F), (0x18F, 0x18F), (0x1A0, 0x1A1), (0x1AF, 0x1B0), (0x1CD, 0x1DC), (0x218, 0x21B),
          (0x2C6, 0x2DD), (0x300, 0x304), (0x370, 0x3FF), (0x400, 0x45F), (0x490, 0x493), (0x1EA0, 0x1EF9), (0x2010, 0x2026),
          (0x2030, 0x203A), (0x2044, 0x2044), (0x2070, 0x208E), (0x20AC, 0x20AC), (0x2116, 0x2122), (0x2150, 0x215E),
          (0x2190, 0x2199), (0x2200, 0x2265), (0x25A0, 0x25CF), (0x2713, 0x2717), (0xFFFD, 0xFFFD)]

for weight, word in [("Regular", "regular"), ("SemiBold", "semibold")]:
    font = TTFont(f"{sys.argv[1]}/Inter-{weight}.otf")
    best = font.getBestCmap()
    tabular = {}
    gsub = font["GSUB"].table
    for record in gsub.FeatureList.FeatureRecord:
        if record.FeatureTag == "tnum":
            for index in record.Feature.LookupListIndex:
                for sub in gsub.LookupList.Lookup[index].SubTable:
                    tabular.update(getattr(getattr(sub, "ExtSubTable", sub), "mapping", {}))
    signs = "0123456789+\u2212"
    for table in font["cmap"].tables:
        for code in list(table.cmap):
            if chr(code) in signs and table.cmap[code] in tabular:
                table.cmap[code] = tabular[table.cmap[code]]
    options = subset.Options()
    options.layout_features = ["kern", "mark", "mkmk", "ccmp", "locl"]
    options.name_IDs = ["*"]
    options.hinting = False
    options.desubroutinize = False
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=[u for a, b in RANGES for u in range(a, b + 1) if u in best])
    cutter.subset(font)
    full = f"{FAMILY} {weight}"
    for name_id, text in [(1, FAMILY if weight == "Regular" else full), (2, "Regular"), (3, f"{full} cut"), (4, full),
                          (6, full.replace(" ", "")), (16, FAMILY), (17, weight)]:
        font["name"].setName(text, name_id, 3, 1, 0x409)
    font["name"].names = [n for n in font["name"].names if n.platformID == 3 and n.nameID not in (25,)]
    if "CFF " in font:
        cff = font["CFF "].cff
        cff.fontNames = [full.replace(" ", "")]
        top = cff.topDictIndex[0]
        top.FullName, top.FamilyName = full, FAMILY
    font.save(f"lengthwise-sans-{word}.otf")
