-- +goose Up

-- Work on a machine's wheel, each row one piece of it: that someone said what
-- is on it (said), a changeover, a proofreading (proof), or putting right what
-- that found (right). It goes towards a target: a head here, without pins, and
-- pins in job_pins, with every aim given. Of all pieces on one machine at most
-- one is under way. before_id is what the wheel carried when it began.
--
-- The target stays as it is, so that what is left to do is always the target
-- compared with the pins on the wheel. moves is how many pulls and drives that
-- were when the work began.
CREATE TABLE wheel_jobs (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    machine_id INTEGER NOT NULL REFERENCES machines (id) ON DELETE CASCADE,
    kind       TEXT    NOT NULL CHECK (kind IN ('said', 'changeover', 'proof', 'right')),
    pinning_id INTEGER REFERENCES pinnings (id) ON DELETE SET NULL,
    head       TEXT    NOT NULL,
    steps      INTEGER NOT NULL CHECK (steps > 0),
    start_step INTEGER NOT NULL CHECK (start_step BETWEEN 0 AND steps - 1),
    rotate     INTEGER NOT NULL CHECK (rotate IN (0, 1)),
    exchange   INTEGER NOT NULL CHECK (exchange IN (0, 1)),
    moves      INTEGER NOT NULL CHECK (moves >= 0),
    before_id  INTEGER REFERENCES wheel_jobs (id) ON DELETE CASCADE,
    begun_us   INTEGER NOT NULL,
    ended_us   INTEGER,
    finished   INTEGER NOT NULL DEFAULT 0 CHECK (finished IN (0, 1) AND (finished = 0 OR ended_us IS NOT NULL))
) STRICT;

CREATE INDEX wheel_jobs_machine ON wheel_jobs (machine_id);
CREATE INDEX wheel_jobs_pinning ON wheel_jobs (pinning_id);
CREATE INDEX wheel_jobs_before ON wheel_jobs (before_id);
CREATE UNIQUE INDEX wheel_jobs_under_way ON wheel_jobs (machine_id) WHERE ended_us IS NULL;

CREATE TABLE job_pins (
    job_id  INTEGER NOT NULL REFERENCES wheel_jobs (id) ON DELETE CASCADE,
    step    INTEGER NOT NULL CHECK (step >= 0),
    channel TEXT    NOT NULL,
    aim     REAL    NOT NULL,
    PRIMARY KEY (job_id, step, channel)
) STRICT, WITHOUT ROWID;

-- What is known of a machine's wheel; no row where nobody has said yet. base_id
-- is what it carries or, between two pinnings, last carried as a whole;
-- toward_id is the changeover begun since.
CREATE TABLE wheels (
    machine_id INTEGER PRIMARY KEY REFERENCES machines (id) ON DELETE CASCADE,
    base_id    INTEGER NOT NULL REFERENCES wheel_jobs (id),
    toward_id  INTEGER REFERENCES wheel_jobs (id),
    seq        INTEGER NOT NULL CHECK (seq >= 0)
) STRICT;

CREATE INDEX wheels_base ON wheels (base_id);
CREATE INDEX wheels_toward ON wheels (toward_id);

-- The holes that carry pins, as far as anyone has said.
CREATE TABLE wheel_pins (
    machine_id INTEGER NOT NULL REFERENCES machines (id) ON DELETE CASCADE,
    step       INTEGER NOT NULL CHECK (step >= 0),
    channel    TEXT    NOT NULL,
    PRIMARY KEY (machine_id, step, channel)
) STRICT, WITHOUT ROWID;

-- Every tap at the wheel, 1, 2, 3 … in seq. Rows are added and never changed.
-- tap_id is the sender's name for it, by which one that is sent twice is known;
-- asked is a fingerprint of what was sent under it. of_tap is the tap that a
-- tap takes back. changes is JSON: what it changed of the pins.
CREATE TABLE wheel_taps (
    machine_id INTEGER NOT NULL REFERENCES machines (id) ON DELETE CASCADE,
    seq        INTEGER NOT NULL CHECK (seq > 0),
    job_id     INTEGER NOT NULL REFERENCES wheel_jobs (id) ON DELETE CASCADE,
    tap_id     TEXT,
    asked      INTEGER NOT NULL,
    at_us      INTEGER NOT NULL,
    kind       TEXT    NOT NULL,
    step       INTEGER NOT NULL,
    of_tap     TEXT    NOT NULL,
    changes    TEXT    NOT NULL,
    PRIMARY KEY (machine_id, seq)
) STRICT;

CREATE UNIQUE INDEX wheel_taps_id ON wheel_taps (machine_id, tap_id) WHERE tap_id IS NOT NULL;
CREATE INDEX wheel_taps_job ON wheel_taps (job_id, kind, at_us);

-- What is wrong at the machine. channel is empty where it is the whole step.
CREATE TABLE troubles (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    machine_id INTEGER NOT NULL REFERENCES machines (id) ON DELETE CASCADE,
    at_us      INTEGER NOT NULL,
    kind       TEXT    NOT NULL,
    step       INTEGER NOT NULL CHECK (step >= 0),
    channel    TEXT    NOT NULL,
    note       TEXT    NOT NULL,
    mended_us  INTEGER
) STRICT;

CREATE INDEX troubles_machine ON troubles (machine_id);
