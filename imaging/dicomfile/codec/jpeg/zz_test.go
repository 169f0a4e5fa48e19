package jpeg
import ("testing";"os")
func TestZZ(t *testing.T){
 os.WriteFile("/tmp/codec/big/ll1.jpeg", encode(texture(1,2000,1500,1,16), settings{process:Lossless,predictor:1}),0o644)
 os.WriteFile("/tmp/codec/big/ll4.jpeg", encode(texture(1,2000,1500,1,16), settings{process:Lossless,predictor:4}),0o644)
 os.WriteFile("/tmp/codec/big/ll7_12.jpeg", encode(texture(1,2000,1500,1,12), settings{process:Lossless,predictor:7}),0o644)
 os.WriteFile("/tmp/codec/big/llc.jpeg", encode(texture(1,2000,500,3,8), settings{process:Lossless,predictor:1}),0o644)
 os.WriteFile("/tmp/codec/big/ext12.jpeg", encode(texture(1,2000,1500,1,12), settings{process:Extended,quant:flatQuant(24)}),0o644)
 os.WriteFile("/tmp/codec/big/ext12f.jpeg", encode(texture(1,2000,1500,1,12), settings{process:Extended,quant:flatQuant(4)}),0o644)
 os.WriteFile("/tmp/codec/big/base8.jpeg", encode(texture(1,2000,1500,1,8), settings{process:Baseline,quant:flatQuant(4)}),0o644)
}
