using Contracts.Agreements;
using Contracts.Explain;
using Contracts.History;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Reconstruct;

/// <summary>Reads what one view of a contract rests on.</summary>
internal static class ComparedViews
{
    /// <summary>The view, or null where nothing of the contract was known then.</summary>
    public static async Task<ComparedView?> ReadAsync(ContractsStore store, string contract, LocalDate on, KnownAt known, CancellationToken stop)
    {
        var history = await store.Reader.HistoryAsync(contract, known, stop).ConfigureAwait(false);
        return history is null ? null : new ComparedView(on, known.At, history, await store.Reader.RatesAsync(known, stop).ConfigureAwait(false));
    }

    /// <summary>Two views compared, or null where the contract was signed in neither; one in which it is unknown has no figures.</summary>
    public static async Task<Comparison?> CompareAsync(
        ContractsStore store, string contract, (LocalDate On, KnownAt Known) from, (LocalDate On, KnownAt Known) to, CancellationToken stop)
    {
        var first = await ReadAsync(store, contract, from.On, from.Known, stop).ConfigureAwait(false);
        var last = await ReadAsync(store, contract, to.On, to.Known, stop).ConfigureAwait(false);
        if (first is null && last is null) { return null; }
        first ??= new ComparedView(from.On, from.Known.At, ContractHistory.Unsigned(contract), last!.Rates);
        last ??= new ComparedView(to.On, to.Known.At, ContractHistory.Unsigned(contract), first.Rates);
        return Comparison.Of(first, last, Terminal.Session.Zone);
    }

    /// <summary>The words of every read of an account.</summary>
    public static Refusal Unknown(string contract) =>
        new(RefusalCode.ContractUnknown, $"No contract {contract} was signed by that day, as known at that moment.", "contract");
}
