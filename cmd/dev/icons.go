package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"os"
	"os/exec"
)

// iconSizes are those that Windows asks for (Microsoft's guide to app icons:
// 16, 24, 32, 48 and 256 px), and Debian's 128.
var iconSizes = []int{16, 24, 32, 48, 128, 256}

// icons draws the icon in each size, and the icon file of Windows.
func (r *release) icons() error {
	var pictures [][]byte
	for _, s := range iconSizes {
		file := r.path(fmt.Sprintf("icon-%d.png", s))
		if err := command(nil, "rsvg-convert", "-w", fmt.Sprint(s), "-h", fmt.Sprint(s), "-o", file, "assets/rootrule.svg").Run(); err != nil {
			return err
		}
		picture, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		pictures = append(pictures, picture)
	}
	return os.WriteFile(r.path("rootrule.ico"), iconFile(iconSizes, pictures), 0o644)
}

// iconFile joins PNG pictures into an icon file: a header of 6 bytes, an entry
// of 16 bytes for each picture, the pictures (form from memory: ICONDIR and
// ICONDIRENTRY; PNG inside since Windows Vista).
func iconFile(sizes []int, pictures [][]byte) []byte {
	var b bytes.Buffer
	put := func(values ...any) {
		for _, v := range values {
			_ = binary.Write(&b, binary.LittleEndian, v) // a buffer takes all
		}
	}
	put(uint16(0), uint16(1), uint16(len(pictures)))
	at := 6 + 16*len(pictures)
	for i, p := range pictures {
		side := uint8(sizes[i]) // 256 is written as 0
		put(side, side, uint8(0), uint8(0), uint16(1), uint16(32), uint32(len(p)), uint32(at))
		at += len(p)
	}
	for _, p := range pictures {
		b.Write(p)
	}
	return b.Bytes()
}

// resources compiles the icon and the version for the Windows program.
func (r *release) resources() (string, error) {
	w := r.when
	numbers := fmt.Sprintf("%d,%d,%d,0", w.Year(), w.Month(), w.Day())
	script := fmt.Sprintf(`1 ICON "rootrule.ico"
1 VERSIONINFO
FILEVERSION %[1]s
PRODUCTVERSION %[1]s
BEGIN
  BLOCK "StringFileInfo"
  BEGIN
    BLOCK "040904b0"
    BEGIN
      VALUE "FileDescription", "Rootrule"
      VALUE "FileVersion", "%[2]s"
      VALUE "OriginalFilename", "rootrule.exe"
      VALUE "ProductName", "Rootrule"
      VALUE "ProductVersion", "%[2]s"
    END
  END
  BLOCK "VarFileInfo"
  BEGIN
    VALUE "Translation", 0x409, 1200
  END
END
`, numbers, r.version)
	if err := r.write("rootrule.rc", script, 0o644); err != nil {
		return "", err
	}
	c := exec.Command("x86_64-w64-mingw32-windres", "rootrule.rc", "rootrule.res.o")
	c.Dir, c.Stdout, c.Stderr = r.work, os.Stdout, os.Stderr
	return r.path("rootrule.res.o"), c.Run()
}
