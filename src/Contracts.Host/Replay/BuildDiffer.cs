using Contracts.Explain;
using Contracts.Replays;

namespace Contracts.Host.Replay;

/// <summary>What two builds make of the same history.</summary>
/// <param name="Contracts">How many contracts were compared.</param>
/// <param name="Groups">Where they part, by cause.</param>
public sealed record DifferReport(long Contracts, CauseGroups Groups)
{
    /// <summary>Whether they part nowhere.</summary>
    public bool Same => Groups.Parted == 0;
}

/// <summary>
/// Holds this build's results against recorded ones. A contract of which both builds write the same bytes is the same and is
/// not looked into; only where they differ are the lines read, and the first event found at which they part.
/// </summary>
internal static class BuildDiffer
{
    /// <summary>Compares all contracts of a source with a file.</summary>
    /// <exception cref="FormatException">The file is no results file, or breaks off.</exception>
    public static async Task<DifferReport> RunAsync(ReplaySource source, ResultsHeader header, ResultsReader theirs, CancellationToken stop)
    {
        var groups = new CauseGroups();
        var contracts = 0L;
        await theirs.MoveAsync(stop).ConfigureAwait(false);
        await foreach (var (contract, line) in source.MapAsync(history => (history.Contract, Line: ResultsFile.Line(history, source)), stop).ConfigureAwait(false))
        {
            while (theirs.Contract is { } before && string.CompareOrdinal(before, contract) < 0)
            {
                contracts++;
                groups.Add(Missing(before, "recorded", "no such contract"));
                await theirs.MoveAsync(stop).ConfigureAwait(false);
            }

            contracts++;
            if (theirs.Contract != contract)
            {
                groups.Add(Missing(contract, "no such contract", "recorded"));
                continue;
            }

            if (!theirs.Line.AsSpan().SequenceEqual(line) && Part(theirs.Line, header.Shape, line) is { } first) { groups.Add(first); }
            await theirs.MoveAsync(stop).ConfigureAwait(false);
        }

        for (; theirs.Contract is { } left; contracts++)
        {
            groups.Add(Missing(left, "recorded", "no such contract"));
            await theirs.MoveAsync(stop).ConfigureAwait(false);
        }

        return new DifferReport(contracts, groups);
    }

    /// <summary>The rule behind the leading figure of a cause, where it can be explained.</summary>
    public static async Task<ExplainNode?> RuleAsync(ReplaySource source, Cause cause, CancellationToken stop)
    {
        if (cause.Leading is not { } figure || await source.HistoryAsync(cause.First.Contract, stop).ConfigureAwait(false) is not { } history) { return null; }
        var sequence = cause.First.Sequence == 0 ? long.MaxValue : cause.First.Sequence;
        return NodaTime.Text.LocalDatePattern.Iso.Parse(cause.First.On) is { Success: true, Value: var on }
            ? Explanation.At(history.ThroughSequence(sequence), source.Reference.Through(sequence), on)?.Of(figure)
            : null;
    }

    /// <summary>The command that opens the tree of a cause's leading figure as it was known after the event.</summary>
    public static async Task<string?> ExplainAsync(ReplaySource source, Cause cause, CancellationToken stop)
    {
        if (cause.Leading is not { } figure) { return null; }
        var history = await source.HistoryAsync(cause.First.Contract, stop).ConfigureAwait(false);
        var at = history?.Entries.FirstOrDefault(entry => entry.Sequence == cause.First.Sequence)?.At;
        var known = at is { } moment ? $" --known {NodaTime.Text.InstantPattern.ExtendedIso.Format(moment)}" : "";
        return $"contracts explain {cause.First.Contract} {figure} --on {cause.First.On}{known}";
    }

    /// <summary>The command that shows the event of a difference in full; null where it is none of one event.</summary>
    public static async Task<string?> StepAsync(ReplaySource source, FirstDifference first, CancellationToken stop)
    {
        var history = first.Sequence == 0 ? null : await source.HistoryAsync(first.Contract, stop).ConfigureAwait(false);
        return history?.Entries.FirstOrDefault(entry => entry.Sequence == first.Sequence) is { } event1
            ? $"contracts step {first.Contract} --until 'key = \"{event1.Key}\"' --format table" : null;
    }

    private static FirstDifference? Part(byte[] theirs, ResultShape shape, byte[] ours)
    {
        var (contract, was, wasBroken) = ResultLine.Read(theirs, shape);
        var (_, now, nowBroken) = ResultLine.Read(ours, ResultShape.Ours);
        return FirstDifference.Of(contract, (was, wasBroken, shape), (now, nowBroken, ResultShape.Ours));
    }

    private static FirstDifference Missing(string contract, string theirs, string ours) =>
        new(contract, 0, 0, "no-history", "", [new Parting("history", theirs, ours, null)]);
}
