package bookfile

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"path"
	"strings"
	"time"

	"lumbricary.example/service"
)

// MaxUnpacked is how many bytes an archive's files may have together.
const MaxUnpacked = 64 << 20

// maxFiles is how many entries an archive may have.
const maxFiles = 64

// packed is the moment that every archived file carries, so that the same book
// gives the same bytes: the first that the format can tell.
func packed() time.Time { return time.Date(1980, time.January, 1, 0, 0, 0, 0, time.UTC) }

// WriteZip writes all tables of the book as CSV files in one archive. The same
// book gives the same bytes. Errors: those of the archive.
func WriteZip(b service.Book) ([]byte, error) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, s := range sheets() {
		w, err := z.CreateHeader(&zip.FileHeader{Name: s.noun() + ".csv", Method: zip.Deflate, Modified: packed()})
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(s.writeCSV(b)); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return out.Bytes(), err
}

// ReadZip unpacks the CSV files of an archive, whatever folder they are in.
// Folders and what spreadsheets and file managers leave beside (names with a
// leading dot or underscore) are passed over. Errors: ErrMalformed for what is
// no sound archive; ErrTooLarge for too many files, or more than MaxUnpacked bytes.
func ReadZip(data []byte) ([]File, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, service.ErrMalformed.With("that is no ZIP archive, or part of it is missing").Because(err)
	}
	if len(z.File) > maxFiles {
		return nil, service.ErrTooLarge.With("more than %d files in the archive", maxFiles)
	}
	var out []File
	room := int64(MaxUnpacked)
	for _, f := range z.File {
		name := path.Base(strings.ReplaceAll(f.Name, `\`, "/"))
		if f.FileInfo().IsDir() || strings.HasPrefix(name, ".") || strings.HasPrefix(name, "_") {
			continue
		}
		data, err := unpack(f, room)
		if err != nil {
			return nil, err
		}
		room -= int64(len(data))
		out = append(out, File{name, data})
	}
	return out, nil
}

// unpack reads one file, up to room bytes. Errors: ErrMalformed, ErrTooLarge.
func unpack(f *zip.File, room int64) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, service.ErrMalformed.With("%s can't be unpacked", f.Name).Because(err)
	}
	data, err := io.ReadAll(io.LimitReader(r, room+1))
	err = errors.Join(err, r.Close())
	switch {
	case err != nil:
		return nil, service.ErrMalformed.With("%s can't be unpacked", f.Name).Because(err)
	case int64(len(data)) > room:
		return nil, service.ErrTooLarge.With("more than %d MiB when unpacked", MaxUnpacked>>20)
	}
	return data, nil
}
