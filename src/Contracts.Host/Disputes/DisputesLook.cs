using Contracts.Agreements;
using Contracts.Disputes;
using Contracts.History;
using Contracts.Store;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Host.Disputes;

/// <summary>A dispute, both readings of the day in question, and the hold that the contract is on.</summary>
/// <param name="Record">The dispute.</param>
/// <param name="Reading">What was said and what is so.</param>
/// <param name="Hold">The ground of the hold, or null where there is none or it has none.</param>
/// <param name="IsOnHold">Whether the contract is on hold.</param>
public sealed record SeenDispute(DisputeRecord Record, DisputeReading Reading, HoldGround? Hold, bool IsOnHold);

/// <summary>Disputes as of a day, as known at a moment.</summary>
public static class DisputesLook
{
    /// <summary>The disputes of a contract or of all, the oldest first.</summary>
    /// <param name="store">The store.</param>
    /// <param name="on">The day.</param>
    /// <param name="known">The moment.</param>
    /// <param name="contract">One contract, or null for all.</param>
    /// <param name="all">Those that are closed too.</param>
    /// <param name="stop">Gives up.</param>
    public static async Task<IReadOnlyList<SeenDispute>> ReadAsync(
        ContractsStore store, LocalDate on, KnownAt known, string? contract, bool all, CancellationToken stop)
    {
        var rates = await store.Reader.RatesAsync(known, stop).ConfigureAwait(false);
        var found = new List<SeenDispute>();
        if (contract is not null)
        {
            if (await store.Reader.HistoryAsync(contract, known, stop).ConfigureAwait(false) is { } history) { found.AddRange(Of(history, rates, on)); }
        }
        else
        {
            await foreach (var some in store.Reader.MapHistoriesAsync(known, history => Of(history, rates, on), stop).ConfigureAwait(false)) { found.AddRange(some); }
        }

        return [.. found.Where(one => all || one.Record.ClosedOn is null).OrderBy(one => one.Record.Opened.Sequence)];
    }

    /// <summary>The disputes of one contract.</summary>
    public static IReadOnlyList<SeenDispute> Of(ContractHistory history, ReferenceData rates, LocalDate on)
    {
        var records = DisputeRecord.Of(history, on);
        if (records.IsEmpty || AccountFold.At(history, rates, on) is not { } account) { return []; }
        var ground = HoldGround.InForce(account);
        return [.. records.Select(record => new SeenDispute(record, DisputeReading.Of(history, rates, record), ground, account.Status == ContractStatus.OnHold))];
    }
}
