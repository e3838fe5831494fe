using Contracts.Agreements;
using Contracts.History;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>
/// Keeps one instrument on at most one open contract. The table's primary key is the guard; this asks first, so
/// that the answer is a refusal in words.
/// </summary>
internal sealed class PlacementDesk(WriteScope scope)
{
    /// <summary>
    /// Whether a decision can move an instrument. A payment that makes the family the owner is left out: like the
    /// passing of days it writes nothing here, and is found when the instrument is asked for again.
    /// </summary>
    public static bool IsConcerned(IReadOnlyList<Outcome> outcomes)
    {
        foreach (var outcome in outcomes)
        {
            if (outcome.Event is ContractEvent.Signed or ContractEvent.InstrumentSwapped or ContractEvent.InstrumentExchanged
                or ContractEvent.Returned or ContractEvent.BoughtEarly or ContractEvent.Reinstated or ContractEvent.SteppedUp
                or ContractEvent.LossReported or ContractEvent.PaymentReversed)
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>Moves the contract's placement to what it holds after a command, or says who stands in the way.</summary>
    public async Task<(Refusal? Refusal, string? Serial)> SettleAsync(
        Known known, ContractHistory after, LocalDate day, Findings findings, CancellationToken stop)
    {
        var held = Held(after, day);
        if (held == known.Placed) { return (null, held); }
        if (held is not null && await TakenAsync(held, after.Contract, day, findings, stop).ConfigureAwait(false) is { } taken)
        {
            return (taken, null);
        }

        if (known.Placed is { } left)
        {
            findings.Release(left);
            scope.Place(left, null);
        }

        if (held is not null)
        {
            findings.Place(held, after.Contract);
            scope.Place(held, after.Contract);
        }

        return (null, held);
    }

    private async Task<Refusal?> TakenAsync(string serial, string contract, LocalDate day, Findings findings, CancellationToken stop)
    {
        if (await scope.HolderAsync(serial, stop).ConfigureAwait(false) is not { } holder || holder == contract) { return null; }
        var other = await scope.FetchAsync(holder, stop).ConfigureAwait(false);
        if (Held(other.History, day) == serial)
        {
            return new Refusal(
                RefusalCode.InstrumentOnOpenContract, $"The instrument '{serial}' is on the open contract {holder}.", "serial");
        }

        // The other contract ended by the mere passing of days, which writes nothing.
        findings.Release(serial);
        scope.Place(serial, null);
        scope.Put(holder, other with { Placed = null });
        return null;
    }

    private string? Held(ContractHistory history, LocalDate day) => Placements.Held(history, scope.Rates, day);
}
