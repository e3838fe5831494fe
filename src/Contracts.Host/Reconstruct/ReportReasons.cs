using Contracts.Agreements;
using Contracts.Books;
using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.History;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Reconstruct;

/// <summary>Finds the tree of a figure of a report: a total over all accounts, or an account of the trial balance.</summary>
internal static class ReportReasons
{
    /// <summary>The reports that can be asked about.</summary>
    public static readonly string[] Reports = ["portfolio", "books"];

    /// <summary>How many contracts one tree takes apart at most.</summary>
    public const int MostOfAll = 500;

    /// <summary>How many an address asks for: null for as many as usual, and what nothing allows where it is no number.</summary>
    public static int? Most(string? text) => string.IsNullOrEmpty(text) ? null
        : int.TryParse(text, System.Globalization.NumberStyles.None, System.Globalization.CultureInfo.InvariantCulture, out var most) ? most : -1;

    /// <summary>The tree, or why there is none.</summary>
    /// <param name="store">The store.</param>
    /// <param name="report">One of <see cref="Reports"/>.</param>
    /// <param name="figure">A path of the portfolio, or the number or name of an account of the chart.</param>
    /// <param name="on">The day; of the books the last day that counts.</param>
    /// <param name="known">What is known.</param>
    /// <param name="most">How many contracts are taken apart; null for twenty.</param>
    /// <param name="stop">Gives up.</param>
    public static async Task<(ExplainNode? Tree, Refusal? Refusal)> FindAsync(
        ContractsStore store, string report, string figure, LocalDate on, KnownAt known, int? most, CancellationToken stop)
    {
        if (most is < 0 or > MostOfAll) { return (null, new Refusal(RefusalCode.FieldInvalid, $"'most' is from 0 to {MostOfAll}.", "most")); }
        switch (report)
        {
            case "portfolio" when ReportTrees.Has(figure):
                return (await PortfolioAsync(store, figure, on, known, most ?? ReportTrees.Most, stop).ConfigureAwait(false), null);
            case "portfolio": return (null, Unknown("figure", figure, FiguresOf(report)));
            case "books" when known.Size is not null: return (null, new Refusal(RefusalCode.DateInvalid, "The books are known at an instant or a day.", "known"));
            case "books" when FiguresOf(report).Contains(figure):
                return (await BooksAsync(store, figure, on, known.At, most ?? ReportTrees.Most, stop).ConfigureAwait(false), null);
            case "books": return (null, Unknown("figure", figure, FiguresOf(report)));
            default: return (null, Unknown("report", report, Reports));
        }
    }

    /// <summary>The figures of a report: the totals by their path, or the accounts of the chart by their number.</summary>
    public static IReadOnlyList<string> FiguresOf(string report) =>
        report == "books" ? [.. Chart.Standard.Accounts.Select(account => account.Number)] : ReportTrees.Figures;

    private static async Task<ExplainNode> PortfolioAsync(ContractsStore store, string figure, LocalDate on, KnownAt known, int most, CancellationToken stop)
    {
        var rates = await store.Reader.RatesAsync(known, stop).ConfigureAwait(false);
        var shares = new List<ReportShare>();
        var read = store.Reader.MapHistoriesAsync(
            known,
            history => AccountFold.At(history, rates, on) is { } state ? new ReportShare(history.Contract, ReportTrees.Of(Account.Of(state, known.At), figure)) : null,
            stop);
        await foreach (var share in read.ConfigureAwait(false))
        {
            if (share is not null && share.Amount != Money.Zero) { shares.Add(share); }
        }

        var trees = new List<(ReportShare, ExplainNode)>();
        foreach (var share in ReportTrees.Largest(shares, most))
        {
            var history = await store.Reader.HistoryAsync(share.Contract, known, stop).ConfigureAwait(false);
            trees.Add((share, Explanation.At(history!, rates, on)!.Of(figure)!));
        }

        return ReportTrees.Accounts(figure, shares, trees);
    }

    private static async Task<ExplainNode> BooksAsync(ContractsStore store, string number, LocalDate through, Instant known, int most, CancellationToken stop)
    {
        var posted = new Dictionary<string, List<PostedShare>>(StringComparer.Ordinal);
        await foreach (var set in store.Books.SetsAsync(known, null, stop).ConfigureAwait(false))
        {
            foreach (var reason in set.Lines.Where(line => Chart.Standard[line.Account].Number == number).GroupBy(line => line.Movement))
            {
                var amount = reason.Aggregate(Money.Zero, (sum, line) => sum + set.Booked(line, LocalDate.MinIsoValue, through));
                if (amount == Money.Zero) { continue; }
                if (!posted.TryGetValue(set.Stream, out var list)) { posted[set.Stream] = list = []; }
                list.Add(new PostedShare(reason.Key.Word(), set.Sequence, amount));
            }
        }

        var shares = posted.Select(one => new ReportShare(one.Key, one.Value.Aggregate(Money.Zero, (sum, line) => sum + line.Amount))).ToList();
        var apart = new List<(ReportShare, ContractHistory?, IReadOnlyList<PostedShare>)>();
        foreach (var share in ReportTrees.Largest(shares, most))
        {
            var history = await store.Reader.HistoryAsync(share.Contract, known, stop).ConfigureAwait(false);
            apart.Add((share, history, posted[share.Contract]));
        }

        return ReportTrees.Books(number, shares, apart);
    }

    private static Refusal Unknown(string field, string given, IEnumerable<string> known) =>
        new(RefusalCode.FieldInvalid, $"There is no {field} '{given}'. There are: {string.Join(", ", known)}.", field);
}
