package trace

// queue is a bucket queue (Dial 1969, Commun ACM 12:632–633) for distances that
// never fall below that of the bucket being emptied. Within a bucket the order
// is free: samples whose distance improves come back, as in the
// label-correcting step of Meyer & Sanders 2003 (J Algorithms 49:114–152).
type queue struct {
	first []int32 // chunk of each bucket, plus 1; 0: empty
	chunk []chunk
	spare []int32 // chunks to use again
}

// chunk is a part of a bucket: 128 bytes, two cache lines.
type chunk struct {
	next int32 // plus 1
	n    int32
	item [15]item
}

// item is a sample and what was left of the budget when it was put here.
type item struct{ sample, left uint32 }

func newQueue(buckets int) queue { return queue{first: make([]int32, buckets)} }

func (q *queue) push(bucket uint32, it item) {
	c := q.first[bucket]
	if c == 0 || q.chunk[c-1].n == int32(len(chunk{}.item)) {
		c = q.grow(bucket)
	}
	k := &q.chunk[c-1]
	k.item[k.n] = it
	k.n++
}

// grow puts an empty chunk in front of a bucket.
func (q *queue) grow(bucket uint32) int32 {
	var c int32
	if n := len(q.spare); n > 0 {
		c = q.spare[n-1]
		q.spare = q.spare[:n-1]
	} else {
		q.chunk = append(q.chunk, chunk{})
		c = int32(len(q.chunk))
	}
	k := &q.chunk[c-1]
	k.next, k.n = q.first[bucket], 0
	q.first[bucket] = c
	return c
}

// take moves the first chunk of a bucket to out and returns its items.
func (q *queue) take(bucket uint32, out *chunk) []item {
	c := q.first[bucket]
	if c == 0 {
		return nil
	}
	*out = q.chunk[c-1]
	q.first[bucket] = out.next
	q.spare = append(q.spare, c)
	return out.item[:out.n]
}
