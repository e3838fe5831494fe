using System.Diagnostics;
using Contracts.Host.Terminal;
using Contracts.Store.Embedded;

namespace Contracts.Benchmarks;

/// <summary>`results` and `differ` over a portfolio against the plain full fold, `accounts`, each as a command of the executable with its start.</summary>
internal sealed class DifferBench(EmbeddedServer server, Databases databases, int runs, string folder)
{
    private const int PerContract = 24;

    public async Task RunAsync(int contracts)
    {
        var file = Path.Combine(folder, "differ.jsonl");
        Portfolio.Write(file, contracts, PerContract);
        await using var made = await databases.NewAsync();
        var clock = Stopwatch.StartNew();
        var loaded = await Databases.LoadFileAsync(made.Store, file);
        Console.WriteLine($"portfolio: {contracts:N0} contracts, {loaded.Applied:N0} commands loaded in {clock.Elapsed.TotalSeconds:F1} s");
        await made.ExecuteAsync("vacuum analyze contracts.mt_events");
        await databases.CheckpointAsync();
        var results = Path.Combine(folder, "results.jsonl");
        var (folds, writes, differs) = (new List<double>(), new List<double>(), new List<double>());
        for (var run = 0; run < runs; run++)
        {
            folds.Add(await TimedAsync(made.Name, "accounts", "--on", "2026-06-30", "--format", "jsonl"));
            writes.Add(await TimedAsync(made.Name, "results", "--out", results, "--on", "2026-06-30"));
            differs.Add(await TimedAsync(made.Name, "differ", results));
        }

        var (fold, write, differ) = (Median.Of(folds), Median.Of(writes), Median.Of(differs));
        Console.WriteLine($"results file: {new FileInfo(results).Length / 1e6:N0} MB");
        Console.WriteLine($"plain full fold (accounts as JSON lines): {fold:F2} s, results: {write:F2} s, differ: {differ:F2} s (medians of {runs})");
        Console.WriteLine($"ratio results / fold: {write / fold:F2}; differ / fold: {differ / fold:F2} (goal: at most 2)");
    }

    private async Task<double> TimedAsync(string database, params string[] arguments)
    {
        var start = new ProcessStartInfo("dotnet", [typeof(ExitCodes).Assembly.Location, .. arguments]) { RedirectStandardOutput = true, RedirectStandardError = true };
        start.Environment[Connections.Variable] = server.Connection.In(database).Everyday;
        var clock = Stopwatch.StartNew();
        using var process = Process.Start(start)!;
        var error = process.StandardError.ReadToEndAsync();
        var buffer = new byte[1 << 16];
        while (await process.StandardOutput.BaseStream.ReadAsync(buffer) > 0) { }
        await process.WaitForExitAsync();
        return process.ExitCode == ExitCodes.Done ? clock.Elapsed.TotalSeconds : throw new InvalidOperationException($"{arguments[0]}: {process.ExitCode} {await error}");
    }
}
