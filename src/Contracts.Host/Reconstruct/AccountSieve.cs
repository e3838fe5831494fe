using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Store;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Host.Reconstruct;

/// <summary>Makes accounts of a view from histories and lets those through that are asked for.</summary>
internal sealed class AccountSieve
{
    private readonly AccountFilter filter;
    private readonly LocalDate on;
    private readonly KnownAt known;
    private readonly ReferenceData rates;
    private readonly (Instant At, ReferenceData Rates)? later;

    private AccountSieve(AccountFilter filter, LocalDate on, KnownAt known, ReferenceData rates, (Instant, ReferenceData)? later) =>
        (this.filter, this.on, this.known, this.rates, this.later) = (filter, on, known, rates, later);

    /// <summary>The state of knowledge of the histories to be given: that of the view, or the present one where what came later is asked about.</summary>
    public KnownAt Reads => later is { } now ? now.At : known;

    /// <summary>Reads the rates of a view; exactly one of the answers is given.</summary>
    /// <param name="store">The store.</param>
    /// <param name="filter">What is asked for.</param>
    /// <param name="on">The day of the view.</param>
    /// <param name="known">What is known.</param>
    /// <param name="stop">Gives up.</param>
    /// <param name="looksLater">Whether to look at what was recorded later even where the filter does not ask.</param>
    public static async Task<(AccountSieve? Sieve, Refusal? Refusal)> ForAsync(
        ContractsStore store, AccountFilter filter, LocalDate on, KnownAt known, CancellationToken stop, bool looksLater = false)
    {
        if (filter.AsksLater && known.Size is not null)
        {
            return (null, new Refusal(RefusalCode.FieldInvalid, "What came later is asked of an instant or a day, not of a checkpoint.", AccountMarks.Later));
        }

        var rates = await store.Reader.RatesAsync(known, stop).ConfigureAwait(false);
        if (!filter.AsksLater && !looksLater) { return (new AccountSieve(filter, on, known, rates, null), null); }
        var now = Instant.Max(await store.Reader.NowAsync(stop).ConfigureAwait(false), known.At);
        return (new AccountSieve(filter, on, known, rates, (now, await store.Reader.RatesAsync(now, stop).ConfigureAwait(false))), null);
    }

    /// <summary>The account of a history that was read as <see cref="Reads"/> says, or null where there is none in the view or it is not asked for.</summary>
    public Account? Of(ContractHistory history)
    {
        // Marks cost more than the account; whoever asks for all accounts needs none.
        if (!filter.IsEmpty) { return WithMarks(history)?.Account; }
        return Then(history) is { } state ? Account.Of(state, known.At) : null;
    }

    /// <summary>The account and what it can be asked for by, where it is asked for.</summary>
    public (Account Account, IReadOnlySet<(string Name, string Value)> Marks)? WithMarks(ContractHistory history)
    {
        if (Then(history) is not { } state) { return null; }
        var account = Account.Of(state, known.At);
        var marks = AccountMarks.Of(state, account).ToHashSet();
        if (later is { } now)
        {
            var best = AccountFold.At(history, now.Rates, on) is { } present ? Account.Of(present, now.At) : null;
            marks.Add((AccountMarks.Later, best is null || Figures.Differ(account, best).Any(one => !Counts.Contains(one.Figure)) ? AccountMarks.Moved : AccountMarks.Same));
        }

        return filter.Conditions.All(marks.Contains) ? (account, marks) : null;
    }

    // That there are more events by now moves no figure of the family's.
    private static readonly string[] Counts = ["events", "lastSequence"];

    private AccountState? Then(ContractHistory history) => AccountFold.At(later is null ? history : history.AsKnownAt(known.At), rates, on);
}
