using System.Collections.Immutable;
using Contracts.Books;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>A contract as the pipeline keeps it between transactions.</summary>
/// <param name="History">Everything recorded.</param>
/// <param name="Placed">The serial that the placements table says this contract holds.</param>
internal sealed record Known(ContractHistory History, string? Placed)
{
    /// <summary>What billing runs found out about this very history; gone with it when something is recorded.</summary>
    public Quiet? Quiet { get; set; }
}

/// <summary>
/// What the pipeline remembers between transactions, true only while nobody else has written: the clock's revision
/// says so.
/// </summary>
internal sealed class Knowledge
{
    private const int KeptContracts = 50_000;

    /// <summary>Books weigh ten times what a history does.</summary>
    private const int KeptBooks = 10_000;

    private readonly RecentlyUsed<Known> contracts = new(KeptContracts);

    public long Revision { get; set; } = -1;

    public ReferenceData? Rates { get; set; }

    public ImmutableDictionary<string, YearMonth>? Shops { get; set; }

    /// <summary>The books of contracts as the last transaction that posted to each left them.</summary>
    public RecentlyUsed<LiveBooks> Books { get; } = new(KeptBooks);

    public Known? Find(string contract) => contracts.Find(contract);

    public void Keep(string contract, Known known) => contracts.Keep(contract, known);

    public void Forget()
    {
        contracts.Clear();
        Books.Clear();
        Rates = null;
        Shops = null;
        Revision = -1;
    }
}
