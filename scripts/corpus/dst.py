"""The machines' own tape: 512-byte header, 3-byte records.

Bit table, field widths and the end record follow trade notes section 9
("Embroidery format DST", "Tajima Ternary", "DST"); the habits (ST counts the
end record, CO counts changes) were measured on real files.
Units: points of 0.1 mm, x right, y up.
"""

LIMIT = 121  # largest move per axis in one record
STITCH, JUMP, CHANGE, END = "stitch", "jump", "change", "end"
_FLAGS = {STITCH: 0x03, JUMP: 0x83, CHANGE: 0xC3}

# (weight, byte, bit) per axis; the negative twin of each bit is listed beside it.
_X_BITS = [(81, 2, 2, 3), (27, 1, 2, 3), (9, 0, 2, 3), (3, 1, 0, 1), (1, 0, 0, 1)]
_Y_BITS = [(81, 2, 5, 4), (27, 1, 5, 4), (9, 0, 5, 4), (3, 1, 7, 6), (1, 0, 7, 6)]


def encode(kind, dx=0, dy=0):
    """One record as 3 bytes; dx, dy in points, within +-121."""
    if kind == END:
        return bytes((0x00, 0x00, 0xF3))
    if max(abs(dx), abs(dy)) > LIMIT:
        raise ValueError(f"move ({dx}, {dy}) exceeds {LIMIT} points")
    record = [0, 0, _FLAGS[kind]]
    for value, table in ((dx, _X_BITS), (dy, _Y_BITS)):
        rest = value
        for weight, byte, plus, minus in table:
            # Balanced ternary: take this weight when what is left is beyond
            # the reach of all smaller weights together.
            reach = (weight - 1) // 2
            if rest > reach:
                record[byte] |= 1 << plus
                rest -= weight
            elif rest < -reach:
                record[byte] |= 1 << minus
                rest += weight
    return bytes(record)


def movement(record):
    """What a record adds to x and y, points."""
    def axis(table):
        return sum(weight * ((record[byte] >> plus & 1) - (record[byte] >> minus & 1))
                   for weight, byte, plus, minus in table)
    return axis(_X_BITS), axis(_Y_BITS)


def header(label, records, changes, extents, swap_y=False, threads=()):
    """512-byte header. `extents` = (min x, max x, min y, max y) in points."""
    x0, x1, y0, y1 = extents
    up, down = max(y1, 0), max(-y0, 0)
    if swap_y:
        up, down = down, up
    fields = [
        f"LA:{label[:16]:<16}", f"ST:{records:7d}", f"CO:{changes:3d}",
        f"+X:{max(x1, 0):5d}", f"-X:{max(-x0, 0):5d}",
        f"+Y:{up:5d}", f"-Y:{down:5d}",
        "AX:+    0", "AY:+    0", "MX:+    0", "MY:+    0", "PD:******",
    ]
    fields += [f"{colour},{name},{number}" for colour, name, number in threads]
    body = b"".join(f.encode("ascii") + b"\r" for f in fields) + b"\x1a"
    if len(body) > 512:
        raise ValueError("header too long")
    return body.ljust(512, b" ")
