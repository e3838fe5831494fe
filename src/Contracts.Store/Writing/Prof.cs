#pragma warning disable
namespace Contracts.Store.Writing;
public static class Prof
{
    static readonly Dictionary<string, (long wall, TimeSpan cpu, int n)> sums = new();
    public static (long, TimeSpan) Now() => (System.Diagnostics.Stopwatch.GetTimestamp(), Environment.CpuUsage.TotalTime);
    public static void Add(string name, (long t, TimeSpan c) from)
    { lock (sums) { var now = Now(); var s = sums.GetValueOrDefault(name); sums[name] = (s.wall + now.Item1 - from.t, s.cpu + (now.Item2 - from.c), s.n + 1); } }
    public static void Dump(string title) { lock (sums) { Console.WriteLine("PROF " + title); foreach (var p in sums) Console.WriteLine($"   {p.Key,-28} wall {p.Value.wall * 1000.0 / System.Diagnostics.Stopwatch.Frequency,9:N0} ms  cpu {p.Value.cpu.TotalMilliseconds,9:N0}  n {p.Value.n}"); sums.Clear(); } }
}
