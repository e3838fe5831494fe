using System.Diagnostics;
using Contracts.Host.Tests.Support;
using Contracts.Store.Seals;
using Contracts.Tests.Support;
using NodaTime;

namespace Contracts.Benchmarks;

/// <summary>A whole school year with the jobs of every day, and then every account of it against the second fold on fifty views.</summary>
internal sealed class YearBench(Databases databases, string folder)
{
    public async Task RunAsync(int families, int views = 50)
    {
        var clock = Stopwatch.StartNew();
        var year = FamilyYear.Of(families);
        Console.WriteLine($"year: {families:N0} families, {year.Contracts.Count:N0} contracts, {year.Lines.Count:N0} lines, made in {clock.Elapsed.TotalSeconds:F1} s");
        Console.WriteLine($"  {string.Join(", ", year.Counts.Select(pair => $"{pair.Key} {pair.Value:N0}"))}");
        Console.WriteLine($"  not granted: {string.Join(", ", year.Refusals.Select(pair => $"{pair.Key} {pair.Value:N0}"))}");
        await using var made = await databases.NewAsync();
        var run = new YearRun(made.Store, new FolderSigner(Path.Combine(folder, "signer")), year);
        var cpu = Process.GetCurrentProcess().TotalProcessorTime;
        clock.Restart();
        await run.LiveAsync(CancellationToken.None);
        var took = clock.Elapsed;
        Console.WriteLine($"lived day by day in {took.TotalSeconds:F1} s (goal: under 60), {(Process.GetCurrentProcess().TotalProcessorTime - cpu).TotalSeconds:F1} s of it our own processor time; load average {await File.ReadAllTextAsync("/proc/loadavg")}"
            .TrimEnd());
        foreach (var (what, time) in run.Took) { Console.WriteLine($"  {what}: {time.Time.TotalSeconds:F1} s, our own processors {time.Processor.TotalSeconds:F1} s"); }
        foreach (var fault in run.Failed.Take(3)) { Console.WriteLine($"  FAILED {fault}"); }
        foreach (var line in run.Refused.Take(10)) { Console.WriteLine($"  REFUSED {line.Refusal.Slug}: {line.Refusal.Detail}"); }
        Console.WriteLine($"  events: {await made.ReadAsync<long>("select count(*) from contracts.mt_events"):N0}");
        if (views == 0) { return; }
        clock.Restart();
        var differs = new List<string>();
        foreach (var (on, known) in FamilyYear.Questions(views)) { differs.AddRange(await run.DifferencesAsync(on, known)); }
        Console.WriteLine($"{views} views of {year.Contracts.Count:N0} contracts against the second fold in {clock.Elapsed.TotalSeconds:F1} s: {differs.Count:N0} differ");
        foreach (var one in differs.Take(3)) { Console.WriteLine(one); }
    }
}
