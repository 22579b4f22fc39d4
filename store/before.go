package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"pinwright/wheel"
)

// copyBefore copies a database of an older version beside itself, so that a
// migration that goes wrong costs nothing. A database without tables, or of
// this program's version, is not copied.
//
// The copy is whole or not there: it is written under another name, brought to
// the disk and renamed. If the tables changed meanwhile, another program has
// migrated them, and the copy is given up.
func copyBefore(ctx context.Context, db *sql.DB, path string, known int64) error {
	version, err := tablesVersion(ctx, db, path)
	if err != nil || version == 0 || version >= known {
		return err
	}
	part, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".copying-")
	if err == nil {
		defer os.Remove(part.Name()) // it is gone once it has been renamed
		err = part.Close()
	}
	if err == nil {
		_, err = db.ExecContext(ctx, `VACUUM INTO ?`, part.Name()) // takes an empty file
	}
	if err == nil {
		err = toDisk(part.Name())
	}
	if err != nil {
		return cannotCopy(path, version, err)
	}
	copied, err := sql.Open("sqlite", fileURI(part.Name(), nil))
	if err != nil {
		return err
	}
	is, err := tablesVersion(ctx, copied, part.Name())
	if err := errors.Join(err, copied.Close()); err != nil {
		return cannotCopy(path, version, err)
	}
	if is != version {
		return nil
	}
	if err := os.Rename(part.Name(), copyName(path, version)); err != nil {
		return cannotCopy(path, version, err)
	}
	_ = folderToDisk(filepath.Dir(path)) // not every file system can
	return nil
}

func cannotCopy(path string, version int64, err error) error {
	return wheel.RefuseFor(wheel.ErrUnavailable, err,
		"%s has tables of version %d, which this program has to bring up to date, and it could not be copied first (%s); nothing was changed: make room in its folder, or copy it elsewhere by hand",
		path, version, err)
}

// copyName is where the copy of a database lies that had tables of a version.
func copyName(path string, version int64) string { return fmt.Sprintf("%s.version-%d", path, version) }

func toDisk(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// folderToDisk has a new name in a folder outlast a power cut.
func folderToDisk(folder string) error {
	d, err := os.Open(folder)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// dropCopies removes the copies of older versions. It is called when a database
// has been opened that was of this version from the first look at it, so when
// the one that was migrated has been opened once more. A copy that cannot be
// removed stays: it does no harm.
func dropCopies(path string, known int64) {
	for version := range known {
		_ = os.Remove(copyName(path, version))
	}
}
