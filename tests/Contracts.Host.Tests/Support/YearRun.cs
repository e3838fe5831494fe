using System.Diagnostics;
using System.Text;
using System.Text.Json.Nodes;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Counter;
using Contracts.Host.Jobs;
using Contracts.Host.Running;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Jobs;
using Contracts.Store.Seals;
using Contracts.Tests.Reference;
using Contracts.Tests.Support;
using NodaTime;

namespace Contracts.Host.Tests.Support;

/// <summary>A <see cref="FamilyYear"/> lived in a store, day after day: at six the jobs of the day, then what families do.</summary>
internal sealed class YearRun(ContractsStore store, ISigner? signer, FamilyYear year)
{
    private static readonly LocalTime Six = new(6, 0);

    /// <summary>The time that each job took over the year, and the lines; and the time of our own processors in it.</summary>
    public SortedDictionary<string, (TimeSpan Time, TimeSpan Processor)> Took { get; } = new(StringComparer.Ordinal);

    /// <summary>The runs of jobs that failed, in words.</summary>
    public List<string> Failed { get; } = [];

    /// <summary>Lines that were refused.</summary>
    public List<RefusedLine> Refused { get; } = [];

    /// <summary>Lives every day through the last one.</summary>
    public async Task LiveAsync(CancellationToken stop)
    {
        await using var bus = await CommandBus.StartAsync(store, stop);
        var runner = new DayRunner(store, signer, DayMemory.Of(store));
        var byDay = year.Lines.GroupBy(line => line.At.InZone(store.Settings.Zone).Date).ToDictionary(day => day.Key, day => day.Select(line => line.Line).ToList());
        for (var day = FamilyYear.First; day <= FamilyYear.Last; day = day.PlusDays(1))
        {
            if (day > FamilyYear.First) { await JobsAsync(runner, day, stop); }
            if (byDay.TryGetValue(day, out var lines)) { await LinesAsync(bus, lines, stop); }
        }

        await JobsAsync(runner, FamilyYear.Last.PlusDays(1), stop);
    }

    private async Task JobsAsync(DayRunner runner, LocalDate day, CancellationToken stop)
    {
        var at = day.At(Six).InZoneLeniently(store.Settings.Zone).ToInstant();
        var (clock, processor) = (Stopwatch.StartNew(), Process.GetCurrentProcess().TotalProcessorTime);
        var jobs = day > FamilyYear.Last ? DayJob.All : [.. DayJob.All.Where(job => job.Name is not ("check" or "watch"))];
        await runner.RunAsync(jobs, day, at, Tell, stop);

        void Tell(DayJob job, JobRun? run, bool now, string? fault)
        {
            processor = Add(job.Name, clock, processor);
            if (fault is not null || !now) { Failed.Add($"{job.Name} of {day:uuuu-MM-dd}: {fault ?? "not run"}"); }
        }
    }

    private async Task LinesAsync(CommandBus bus, List<string> lines, CancellationToken stop)
    {
        var (clock, processor) = (Stopwatch.StartNew(), Process.GetCurrentProcess().TotalProcessorTime);
        var loader = new FileLoader(bus, stopOnRefusal: false, new Progress(null));
        await loader.LoadAsync("a day", new MemoryStream(Encoding.UTF8.GetBytes(string.Join('\n', lines))), stop);
        Refused.AddRange(loader.Summary.Refused);
        Add("lines", clock, processor);
    }

    private TimeSpan Add(string what, Stopwatch clock, TimeSpan processor)
    {
        var (so, far) = Took.GetValueOrDefault(what);
        var now = Process.GetCurrentProcess().TotalProcessorTime;
        Took[what] = (so + clock.Elapsed, far + now - processor);
        clock.Restart();
        return now;
    }

    /// <summary>Every account of a view beside the second fold; those that differ, with both.</summary>
    public async Task<List<string>> DifferencesAsync(LocalDate on, Instant known)
    {
        var rates = await store.Reader.RatesAsync(known);
        var found = new Dictionary<string, string>(StringComparer.Ordinal);
        await foreach (var history in store.Reader.HistoriesAsync(known))
        {
            if (AccountFold.At(history, rates, on) is { } state) { found[history.Contract] = Comparable(Account.Of(state, known)); }
        }

        var expected = year.Contracts.AsParallel().Select(life => (
            life.Contract, Text: NaiveReference.Account(life.Commands, life.Contract, on, known, store.Settings.Zone)?.ToJsonString())).ToList();
        var differs = new List<string>();
        foreach (var (contract, text) in expected)
        {
            found.Remove(contract, out var ours);
            if (text != ours) { differs.Add($"{contract} on {on} known {known}:\nreference {text}\naccount   {ours}"); }
        }

        differs.AddRange(found.Keys.Select(contract => $"{contract} is nobody's"));
        return differs;
    }

    private static string Comparable(Account account)
    {
        using var buffer = new MemoryStream();
        using (var json = new System.Text.Json.Utf8JsonWriter(buffer)) { AccountJson.Write(json, account); }
        var node = JsonNode.Parse(buffer.ToArray())!.AsObject();
        node.Remove("known");
        node.Remove("events");
        node.Remove("lastSequence");
        foreach (var item in node["openItems"]!.AsArray()) { item!.AsObject().Remove("id"); }
        return node.ToJsonString();
    }
}
