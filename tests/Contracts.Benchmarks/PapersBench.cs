using System.Text;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.History;
using Contracts.Host.Papers;
using Contracts.Papers;
using Contracts.Store.Papers;
using Contracts.Terms;
using Fluid.Values;
using NodaTime;

namespace Contracts.Benchmarks;

/// <summary>
/// Receipts from events to a file, beside the template engine alone writing the same bytes from values that lie ready: the
/// difference is the fold, the data, their digest, and reading them for the template. Each receipt is written as it is made
/// and then forgotten, so any number of them needs the memory of the few families they are of.
/// </summary>
internal static class PapersBench
{
    private const int Families = 200;
    private const int LinesEach = 24;

    private sealed record Subject(ContractHistory History, PaperRequest Asked, KnownThrough Known);

    public static void Run(int size, int runs)
    {
        var (subjects, rates) = Subjects();
        var work = Enumerable.Range(0, size).Select(number => subjects[number % subjects.Count]);
        var file = Path.GetTempFileName();
        var ready = subjects.ToDictionary(subject => subject, subject => PaperValues.Read(Data(subject, rates)));
        var (ours, theirs, issue) = (new List<double>(), new List<double>(), new List<double>());
        var desk = PaperArchive.DeskOf(PaperPress.Print);
        for (var run = -1; run < runs; run++)
        {
            // The first round warms both up and is not counted.
            var (made, bytes) = Time(file, work, subject => FromEvents(subject, rates));
            var (engine, alone) = Time(file, work, subject => EngineAlone(ready[subject]));
            var (issued, _) = Time(file, work, subject => Issued(desk, subject, rates));
            if (bytes != alone) { throw new InvalidOperationException($"{bytes} bytes against {alone}."); }
            if (run < 0) { continue; }
            ours.Add(made);
            theirs.Add(engine);
            issue.Add(issued);
        }

        foreach (var subject in subjects.Take(50))
        {
            if (!FromEvents(subject, rates).AsSpan().SequenceEqual(EngineAlone(ready[subject]))) { throw new InvalidOperationException("Not the same bytes."); }
        }

        File.Delete(file);
        var results = new Results(size, runs);
        results.AtMost($"{size:N0} receipts from events", "the template engine alone", Median.Of(ours), Median.Of(theirs), 3);
        results.AtMost($"{size:N0} receipts issued (event with four digests)", "the template engine alone", Median.Of(issue), Median.Of(theirs), 0);
        results.Fact("receipts a second", size / Median.Of(ours) * 1000);
        using var process = System.Diagnostics.Process.GetCurrentProcess();
        results.Fact("megabytes at most", process.PeakWorkingSet64 / 1e6);
    }

    private static (double Milliseconds, long Bytes) Time(string file, IEnumerable<Subject> work, Func<Subject, byte[]> make)
    {
        using var stream = new FileStream(file, FileMode.Create, FileAccess.Write, FileShare.None, 1 << 16);
        var clock = System.Diagnostics.Stopwatch.StartNew();
        foreach (var subject in work) { stream.Write(make(subject)); }
        stream.Flush(flushToDisk: true);
        return (clock.Elapsed.TotalMilliseconds, stream.Length);
    }

    private static byte[] Data(Subject subject, ReferenceData rates) =>
        PaperJson.Bytes(PaperMaker.Make(subject.History.ThroughSequence(subject.Known.ThroughSequence), rates, subject.Asked).Paper!);

    private static byte[] FromEvents(Subject subject, ReferenceData rates)
    {
        var data = Data(subject, rates);
        _ = PaperJson.Digest(data);
        var printed = PaperPress.Print(data, PaperKind.Receipt, null);
        _ = printed.Digest;
        return printed.Bytes;
    }

    private static byte[] EngineAlone(IReadOnlyList<KeyValuePair<string, FluidValue>> values) =>
        Encoding.UTF8.GetBytes(PaperPress.Standard.RenderPrepared(PaperKind.Receipt, values));

    private static byte[] Issued(PaperDesk desk, Subject subject, ReferenceData rates)
    {
        var (issued, _) = desk.Issue(
            subject.History, rates, subject.Asked.On, new ContractCommand.Issue(PaperKind.Receipt, subject.Asked.For), subject.Known);
        return Encoding.UTF8.GetBytes(issued!.Digest);
    }

    /// <summary>Every payment of some invented families, whose lives are decided here in memory.</summary>
    private static (List<Subject> Subjects, ReferenceData Rates) Subjects()
    {
        var file = Path.GetTempFileName();
        Portfolio.Write(file, Families, LinesEach);
        var (histories, rates, sequence) = (new Dictionary<string, ContractHistory>(StringComparer.Ordinal), ReferenceData.None, 0L);
        foreach (var line in File.ReadLines(file))
        {
            var read = CommandReader.Read(Encoding.UTF8.GetBytes(line)).Command ?? throw new JsonException(line);
            if (read.Command is Command.SetTax tax) { rates = rates.With(tax.Jurisdiction, tax.Entry); }
            if (read.Command is not Command.OnContract on) { continue; }
            var history = histories.GetValueOrDefault(on.Contract, ContractHistory.Unsigned(on.Contract));
            var context = new DecisionContext(rates, read.At!.Value.InUtc().Date);
            if (ContractDecider.Decide(history, context, on.Origin, on.On, on.Body) is not Decision.Accepted accepted) { continue; }
            foreach (var outcome in accepted.Outcomes)
            {
                history = history.Evolve(new Recorded(outcome.Event, ++sequence, read.At.Value, on.Origin.Key, null, null, outcome.Cause));
            }

            histories[on.Contract] = history;
        }

        File.Delete(file);
        var subjects = new List<Subject>();
        foreach (var history in histories.Values)
        {
            foreach (var fact in history.Facts)
            {
                if (fact.Event is not ContractEvent.PaymentReceived) { continue; }
                subjects.Add(new Subject(history, new PaperRequest(PaperKind.Receipt, fact.Key, fact.Event.On, fact.At), new KnownThrough(fact.At, fact.Sequence)));
            }
        }

        return (subjects, rates);
    }
}
