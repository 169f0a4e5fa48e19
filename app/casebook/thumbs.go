package casebook

import "errors"

// maxThumb bounds the bytes of a small picture. Generous, no source.
const maxThumb = 1 << 20

// Thumb returns the small picture that was kept with an original, [ErrNone] if
// none was.
func (b *Book) Thumb(sha256 string) ([]byte, error) {
	var data []byte
	err := b.db.QueryRow(`SELECT data FROM thumbs WHERE sha256 = ?`, sha256).Scan(&data)
	return data, explain("reading a small picture", err)
}

// SetThumb keeps a small picture of an original, for lists. It is not part of
// any case's history and can be made again at any time.
func (b *Book) SetThumb(sha256 string, data []byte) error {
	const doing = "keeping a small picture"
	if len(data) == 0 || len(data) > maxThumb {
		return explain(doing, errors.New("it is empty or too large"))
	}
	_, err := b.db.Exec(`
		INSERT INTO thumbs (sha256, data) VALUES (?, ?)
		ON CONFLICT (sha256) DO UPDATE SET data = excluded.data`, sha256, data)
	return explain(doing, err)
}
