package bench
import ("testing";"fmt";"time")
func TestTryTrace(t *testing.T){
 if err:=Trace(TraceOptions{Dir:t.TempDir(),Events:100000,Say:func(f string,a ...any){fmt.Printf(time.Now().Format("05.0 ")+f+"\n",a...)}});err!=nil{t.Fatal(err)}
}
