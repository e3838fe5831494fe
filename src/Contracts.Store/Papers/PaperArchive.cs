using Contracts.Agreements;
using Contracts.History;
using Contracts.Papers;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Papers;

/// <summary>A paper that was issued: its id, which is the key of the command that issued it, and what was recorded.</summary>
public sealed record IssuedPaper(string Id, string Contract, Instant IssuedAt, string? By, long Sequence, ContractEvent.DocumentIssued Event);

/// <summary>A paper made again.</summary>
/// <param name="Issued">What was recorded of it.</param>
/// <param name="Data">Its data as JSON, or null where they cannot be made any more.</param>
/// <param name="Printed">Its bytes, or null where it cannot be printed any more.</param>
/// <param name="Differs">What is not as it was; empty when the bytes are the same.</param>
public sealed record PaperAgain(IssuedPaper Issued, byte[]? Data, Printed? Printed, IReadOnlyList<string> Differs);

/// <summary>What was issued, and the same papers again from the events, as known then.</summary>
public sealed class PaperArchive
{
    private readonly NpgsqlDataSource source;
    private readonly StoreReader reader;
    private readonly StoreSettings settings;

    internal PaperArchive(NpgsqlDataSource source, StoreReader reader, StoreSettings settings)
    {
        this.source = source;
        this.reader = reader;
        this.settings = settings;
    }

    /// <summary>Whether the store was opened with something to make papers with.</summary>
    public bool CanMake => settings.Press is not null;

    /// <summary>The desk that a store issues papers with.</summary>
    public static PaperDesk DeskOf(Press press) => StoredFacts.Desk(press);

    /// <summary>The papers issued in a history, in the order of issue.</summary>
    public static IEnumerable<IssuedPaper> Of(ContractHistory history) =>
        history.Entries.Where(entry => entry.Event is ContractEvent.DocumentIssued).Select(entry => new IssuedPaper(
            entry.Key, history.Contract, entry.At, entry.Actor, entry.Sequence, (ContractEvent.DocumentIssued)entry.Event));

    /// <summary>Makes the paper of an id again, or answers null where no paper has it.</summary>
    public async Task<PaperAgain?> MakeAgainAsync(string id, CancellationToken stop = default)
    {
        if (settings.Press is not { } press) { throw new StoreException("This store was opened without anything to make papers with."); }
        if (await ContractOfAsync(id, stop).ConfigureAwait(false) is not { } contract) { return null; }
        var now = await reader.NowAsync(stop).ConfigureAwait(false);
        if (await reader.HistoryAsync(contract, now, stop).ConfigureAwait(false) is not { } history) { return null; }
        if (Of(history).FirstOrDefault(paper => paper.Id == id) is not { } issued) { return null; }
        var rates = await reader.RatesThroughAsync(issued.Event.ThroughSequence, stop).ConfigureAwait(false);
        var (data, printed, differs) = StoredFacts.Desk(press).MakeAgain(history, rates, issued.Event);
        return new PaperAgain(issued, data, printed, differs);
    }

    /// <summary>Every amount of a paper, ready to explain by what was known when it was made; or the paper with what keeps it from being made as it was.</summary>
    /// <param name="id">The paper.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<(PaperAgain? Again, PaperExplanation? Explanation)> ExplainAsync(string id, CancellationToken stop = default)
    {
        if (await MakeAgainAsync(id, stop).ConfigureAwait(false) is not { } again) { return (null, null); }
        if (again.Differs.Count > 0) { return (again, null); }
        var issued = again.Issued.Event;
        var rates = await reader.RatesThroughAsync(issued.ThroughSequence, stop).ConfigureAwait(false);
        var now = await reader.NowAsync(stop).ConfigureAwait(false);
        var history = (await reader.HistoryAsync(again.Issued.Contract, now, stop).ConfigureAwait(false))!.ThroughSequence(issued.ThroughSequence);
        return (again, PaperExplanation.Of(history, rates, PaperDesk.Again(history, rates, issued).Paper!));
    }

    private async Task<string?> ContractOfAsync(string id, CancellationToken stop)
    {
        await using var command = source.CreateCommand("select contract from contracts.command_keys where key = $1");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = id });
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) as string;
    }
}
