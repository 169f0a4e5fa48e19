package jpegls
import ("testing";"os")
func TestZZ(t *testing.T){
 os.WriteFile("/tmp/codec/big/l16.jls", encode(texture(1,2000,1500,1,16), settings{}),0o644)
 os.WriteFile("/tmp/codec/big/l12.jls", encode(texture(1,2000,1500,1,12), settings{}),0o644)
 os.WriteFile("/tmp/codec/big/cs.jls", encode(texture(1,2000,500,3,8), settings{interleave:BySample}),0o644)
}
