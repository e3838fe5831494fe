using System.Globalization;
using Contracts.Agreements;
using Contracts.Disclosures;
using NodaTime.Text;

namespace Contracts.TakeOver;

/// <summary>A contract of the book and its account on the day of the control totals; null where it was not signed by then.</summary>
public sealed record ReconciledContract(BookContract Contract, Account? Account)
{
    /// <summary>Whether it runs on that day, on hold or not.</summary>
    public bool IsOpen => Account?.Status is "signed" or "active" or "on-hold";
}

/// <summary>A total as the shop has it and as the rules make it.</summary>
/// <param name="Figure">Which: <c>contracts</c>, <c>open</c>, or the path of a money figure.</param>
/// <param name="Theirs">The shop's.</param>
/// <param name="Ours">What the rules make of the book.</param>
/// <param name="Difference">Ours less theirs.</param>
/// <param name="Likely">The contracts that most likely make the difference, with why; empty where there is none or nothing points at one.</param>
public sealed record ComparedTotal(string Figure, string Theirs, string Ours, string Difference, IReadOnlyList<string> Likely)
{
    /// <summary>Whether both are the same, to the cent.</summary>
    public bool Holds => Theirs == Ours;
}

/// <summary>A figure that the book itself says of a contract and that the rules make otherwise.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Row">Its line.</param>
/// <param name="Figure">The path of the figure.</param>
/// <param name="Theirs">The book's.</param>
/// <param name="Ours">What the rules make of it.</param>
public sealed record ComparedLine(string Contract, BookRow Row, string Figure, Money Theirs, Money Ours);

/// <summary>The book held against the shop's control totals and, where it has them, its own figures of each contract.</summary>
/// <param name="Totals">Every total that the shop gave.</param>
/// <param name="Lines">Figures of contracts that differ.</param>
/// <param name="LinesCompared">How many were compared.</param>
public sealed record Reconciliation(IReadOnlyList<ComparedTotal> Totals, IReadOnlyList<ComparedLine> Lines, int LinesCompared)
{
    /// <summary>More contracts than this are not named for one difference.</summary>
    public const int MostNamed = 5;

    /// <summary>Whether everything is the same, to the cent.</summary>
    public bool Holds => Totals.All(total => total.Holds) && Lines.Count == 0;

    /// <summary>Holds accounts against what the shop says of them.</summary>
    /// <param name="totals">The control totals.</param>
    /// <param name="accounts">Every contract of the book on their day.</param>
    public static Reconciliation Of(ControlTotals totals, IReadOnlyList<ReconciledContract> accounts)
    {
        var lines = new List<ComparedLine>();
        var compared = 0;
        foreach (var (contract, account) in accounts)
        {
            foreach (var (figure, theirs) in contract.Row.Figures ?? new Dictionary<string, Money>())
            {
                compared++;
                var ours = account is null ? Money.Zero : ControlTotals.Of(account, figure);
                if (ours != theirs) { lines.Add(new ComparedLine(contract.Signing.Contract, contract.Row, figure, theirs, ours)); }
            }
        }

        var all = new List<ComparedTotal>();
        if (totals.Contracts is { } contracts) { all.Add(Count("contracts", contracts, accounts.Count)); }
        if (totals.Open is { } open) { all.Add(Count("open", open, accounts.Count(one => one.IsOpen))); }
        foreach (var (figure, theirs) in totals.Sums)
        {
            var ours = accounts.Aggregate(Money.Zero, (sum, one) => sum + Figure(one, figure));
            all.Add(new ComparedTotal(
                figure, theirs.ToString(), ours.ToString(), (ours - theirs).ToString(), ours == theirs ? [] : Likely(figure, ours - theirs, accounts, lines)));
        }

        return new Reconciliation(all, lines, compared);
    }

    /// <summary>Why the book is not taken over, or null where everything holds.</summary>
    /// <param name="totals">The control totals.</param>
    public Refusal? Refusal(ControlTotals totals)
    {
        var day = LocalDatePattern.Iso.Format(totals.AsOf);
        if (Totals.FirstOrDefault(total => !total.Holds) is { } first)
        {
            var more = Totals.Count(total => !total.Holds) - 1;
            return new Refusal(
                RefusalCode.BookDoesNotReconcile,
                $"{first.Figure} on {day}: the shop's total is {first.Theirs}, the book comes to {first.Ours}, {Than(first.Difference)}."
                + (first.Likely.Count > 0 ? $" Look at {string.Join("; ", first.Likely)}." : "") + (more > 0 ? $" {more} other totals differ too." : "") + " Nothing was recorded.",
                first.Figure, first.Ours);
        }

        return Lines is [var line, ..]
            ? new Refusal(
                RefusalCode.BookDoesNotReconcile,
                $"Contracts, line {line.Row.Line}, {line.Row.Header(line.Figure)}: the book says {line.Theirs} of {line.Contract} on {day}, and its facts make {line.Ours}."
                + (Lines.Count > 1 ? $" {Lines.Count - 1} other figures differ too." : "") + " Nothing was recorded.",
                line.Row.Header(line.Figure), line.Ours.ToString())
            : null;
    }

    private static string Than(string difference) => difference.StartsWith('-') ? $"{difference[1..]} less" : $"{difference} more";

    private static ComparedTotal Count(string figure, int theirs, int ours) =>
        new(figure, Text(theirs), Text(ours), Text(ours - theirs), []);

    private static string Text(int number) => number.ToString(CultureInfo.InvariantCulture);

    private static Money Figure(ReconciledContract one, string figure) => one.Account is { } account ? ControlTotals.Of(account, figure) : Money.Zero;

    /// <summary>
    /// The contracts whose own figure in the book is another one; where the book has none, those whose figure, next installment or one of whose payments
    /// is just the difference, as a line that is missing, doubled or keyed wrongly leaves it.
    /// </summary>
    private static List<string> Likely(string figure, Money difference, IReadOnlyList<ReconciledContract> accounts, List<ComparedLine> lines)
    {
        var own = lines.Where(line => line.Figure == figure).ToList();
        if (own.Count > 0) { return Named(own.Select(line => $"{line.Contract} (line {line.Row.Line}: {line.Theirs} there, {line.Ours} by its facts)")); }
        if (accounts.All(one => one.Contract.Row.Figures?.ContainsKey(figure) == true))
        {
            return ["a line that is missing or the total itself: every contract agrees with its own figure in the book"];
        }

        var size = difference < Money.Zero ? Money.Zero - difference : difference;
        return Named(accounts.Select(one => Why(one, figure, size) is { } why ? $"{one.Contract.Signing.Contract} (line {one.Contract.Row.Line}: {why})" : null).OfType<string>());
    }

    private static string? Why(ReconciledContract one, string figure, Money size)
    {
        if (one.Account is not { } account) { return null; }
        if (ControlTotals.Of(account, figure) == size) { return $"its {figure} is {size}"; }
        if (account.NextDue?.Amount == size) { return $"its next installment is {size}"; }
        return ((ContractCommand.Sign)one.Contract.Signing.Body).Terms.MonthlyRent == size ? $"its monthly rent is {size}" : null;
    }

    private static List<string> Named(IEnumerable<string> all)
    {
        var listed = all.ToList();
        return listed.Count <= MostNamed ? listed : [.. listed.Take(MostNamed), $"and {listed.Count - MostNamed} more"];
    }
}
