-- Version 1. One row a frame, narrow and typed, so that conditions read little;
-- long texts beside it; all words of a frame in one full-text table.

CREATE TABLE trips (
    id   INTEGER PRIMARY KEY,
    key  TEXT NOT NULL UNIQUE, -- stays the same when the trip is taken in again
    name TEXT NOT NULL,        -- the trip folder's name
    root TEXT NOT NULL         -- where the trip folder was
) STRICT;

CREATE TABLE rolls (
    id       INTEGER PRIMARY KEY,
    trip     INTEGER NOT NULL REFERENCES trips (id) ON DELETE CASCADE,
    key      TEXT NOT NULL,
    name     TEXT NOT NULL,
    camera   TEXT,
    film     TEXT,
    ei       INTEGER,
    process  TEXT,
    capacity INTEGER,
    remarks  TEXT NOT NULL, -- JSON array of texts
    UNIQUE (trip, key)
) STRICT;

-- Names that recur on many frames: films, lenses, lights and so on.
CREATE TABLE names (
    id   INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    text TEXT NOT NULL,
    UNIQUE (kind, text)
) STRICT;

-- `id` rises with the time taken, so that newest first is the table's own order.
CREATE TABLE frames (
    id           INTEGER PRIMARY KEY,
    trip         INTEGER NOT NULL REFERENCES trips (id) ON DELETE CASCADE,
    roll         INTEGER NOT NULL REFERENCES rolls (id) ON DELETE CASCADE,
    place_no     INTEGER NOT NULL, -- order in the roll, from 0
    frame        TEXT NOT NULL,
    status       TEXT NOT NULL,
    taken        INTEGER,          -- local seconds from 1970-01-01T00:00:00
    offset_s     INTEGER,          -- local time less UTC, seconds
    camera       INTEGER REFERENCES names (id),
    lens         INTEGER REFERENCES names (id),
    film         INTEGER REFERENCES names (id),
    filter       INTEGER REFERENCES names (id),
    light        INTEGER REFERENCES names (id),
    support      INTEGER REFERENCES names (id),
    process      INTEGER REFERENCES names (id),
    focal_mm     REAL,
    box_iso      INTEGER,
    ei           INTEGER,
    seconds      REAL,
    aperture     REAL,
    filter_stops REAL,
    comp_stops   REAL,
    ev100        REAL,
    lat          REAL,
    lon          REAL,
    confidence   REAL,
    rating       INTEGER
) STRICT;

CREATE TABLE details (
    frame        INTEGER PRIMARY KEY REFERENCES frames (id) ON DELETE CASCADE,
    scan         TEXT,           -- files joined by |
    shutter      TEXT,           -- the mark
    known_by     TEXT,           -- how the time is known
    subject      TEXT,
    place        TEXT,
    source       TEXT NOT NULL,
    flags        TEXT NOT NULL,
    reasons      TEXT NOT NULL,  -- JSON: [[flag, reason], ...]
    said         TEXT,
    clip         TEXT,
    at_s         REAL,
    alternatives TEXT NOT NULL,  -- JSON: {field: [reading, ...]}
    remark       TEXT
) STRICT;

CREATE TABLE frame_flags (
    flag  TEXT NOT NULL,
    frame INTEGER NOT NULL REFERENCES frames (id) ON DELETE CASCADE,
    PRIMARY KEY (flag, frame)
) STRICT, WITHOUT ROWID;
CREATE INDEX frame_flags_frame ON frame_flags (frame);

CREATE VIRTUAL TABLE words USING fts5 (
    said, subject, place, gear, remark,
    content = '', contentless_delete = 1, tokenize = 'unicode61 remove_diacritics 2'
);

CREATE INDEX frames_trip ON frames (trip);
CREATE INDEX frames_roll ON frames (roll);
CREATE INDEX frames_camera ON frames (camera);
CREATE INDEX frames_lens ON frames (lens);
CREATE INDEX frames_film ON frames (film);
CREATE INDEX frames_filter ON frames (filter);
CREATE INDEX frames_light ON frames (light);
CREATE INDEX frames_seconds ON frames (seconds);
CREATE INDEX frames_aperture ON frames (aperture);
CREATE INDEX frames_ev100 ON frames (ev100);
CREATE INDEX frames_focal ON frames (focal_mm);
CREATE INDEX frames_position ON frames (lat, lon) WHERE lat IS NOT NULL;
CREATE INDEX frames_rating ON frames (rating) WHERE rating IS NOT NULL;
CREATE INDEX frames_lost ON frames (status) WHERE status <> 'ok';

-- For people and other programs: every frame with its names written out.
CREATE VIEW frame_rows AS
SELECT f.id, t.name AS trip, t.root, r.name AS roll, f.frame, f.status, d.scan,
       f.taken, f.offset_s, d.known_by,
       (SELECT text FROM names WHERE id = f.camera) AS camera,
       (SELECT text FROM names WHERE id = f.lens) AS lens,
       (SELECT text FROM names WHERE id = f.film) AS film,
       f.focal_mm, f.box_iso, f.ei, d.shutter, f.seconds, f.aperture,
       (SELECT text FROM names WHERE id = f.filter) AS filter,
       f.filter_stops, f.comp_stops, f.ev100,
       (SELECT text FROM names WHERE id = f.light) AS light,
       (SELECT text FROM names WHERE id = f.support) AS support,
       d.subject, d.place, f.lat, f.lon,
       (SELECT text FROM names WHERE id = f.process) AS process,
       d.source, f.confidence, d.flags, d.reasons, d.said, d.clip, d.at_s,
       d.alternatives, f.rating, d.remark
FROM frames f
JOIN details d ON d.frame = f.id
JOIN rolls r ON r.id = f.roll
JOIN trips t ON t.id = f.trip;
