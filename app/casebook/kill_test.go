package casebook

import (
	"bufio"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"rootrule/measure"
)

// childBook is the environment variable that makes the test binary a child
// which works on a casebook until it is killed.
const childBook = "CASEBOOK_TEST_CHILD"

func TestMain(m *testing.M) {
	if path := os.Getenv(childBook); path != "" {
		fmt.Println("failed:", workUntilKilled(path))
		os.Exit(1)
	}
	// Each check is some thirty transactions on a real disk; -rapid.checks
	// on the command line overrides this.
	if err := flag.Set("rapid.checks", "40"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// workUntilKilled adds canals to the last case, and now and then an image, and
// prints the number of steps that the case has after each one.
func workUntilKilled(path string) error {
	b, err := Open(path)
	if err != nil {
		return err
	}
	c, err := b.Last()
	if err != nil {
		return err
	}
	for n := stepsOf(c) + 1; ; n++ {
		if n%10 == 0 {
			_, err = c.AddImage("x.png", original(n), measure.StageRecall, "")
		} else {
			err = c.Edit("trace canal", addCanal(strconv.Itoa(n)))
		}
		if err != nil {
			return err
		}
		fmt.Println(n)
	}
}

// original returns the content of the image of step n.
func original(n int) []byte {
	data := make([]byte, 30_000)
	r := rand.New(rand.NewPCG(uint64(n), 0))
	for i := range data {
		data[i] = byte(r.Uint32())
	}
	return data
}

// stepsOf counts what the steps of the child leave in the marks.
func stepsOf(c *Case) int {
	m := c.Marks()
	return len(m.Images) - 1 + len(m.Images[0].Canals)
}

// A program killed (SIGKILL) while it saves one step after another has lost
// nothing that Edit or AddImage had returned from. Each round goes on with the
// casebook that the last kill left.
func TestKill(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book")
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	newCase(t, b)
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(3, 4))
	total := 0
	for range 8 {
		reported := killChild(t, path, time.Duration(r.IntN(120))*time.Millisecond)
		checkAfterKill(t, path, reported)
		total = reported
	}
	t.Logf("%d steps in 8 rounds", total)
}

// killChild lets a child work for the given time after its first step, kills
// it, and returns the last step that it had reported.
func killChild(t *testing.T, path string, after time.Duration) (reported int) {
	t.Helper()
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), childBook+"="+path)
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		n, err := strconv.Atoi(lines.Text())
		if err != nil {
			child.Process.Kill()
			t.Fatalf("the child says %q", lines.Text())
		}
		if reported == 0 {
			time.AfterFunc(after, func() { child.Process.Kill() })
		}
		reported = n
	}
	if err := child.Wait(); err == nil {
		t.Error("the child ended by itself")
	}
	return reported
}

// checkAfterKill opens the casebook after a kill: the reported steps are
// there, at most the one in progress beside them, and each can be undone.
func checkAfterKill(t *testing.T, path string, reported int) {
	t.Helper()
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	integrity(t, b)
	c, err := b.Last()
	if err != nil {
		t.Fatal(err)
	}
	if n := stepsOf(c); n != reported && n != reported+1 {
		t.Errorf("%d steps are there, %d were reported", n, reported)
	}
	for _, im := range c.Marks().Images[1:] {
		if _, err := c.Original(im.ID); err != nil {
			t.Error(err)
		}
	}
	undone := 0
	for undone < 25 && stepsOf(c) > 0 {
		if _, err := c.Undo(); err != nil {
			t.Fatal(err)
		}
		undone++
	}
	for range undone {
		if _, err := c.Redo(); err != nil {
			t.Fatal(err)
		}
	}
}
