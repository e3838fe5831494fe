using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Payments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Explain;

/// <summary>Says of any figure of an account how it was made: a tree through the rules down to the events.</summary>
public sealed class Explanation
{
    private static readonly string[] Counts = ["installments.total", "installments.due", "installments.paid", "installments.remaining"];

    private readonly Explainer explainer;

    private Explanation(AccountFold fold, FoldTrace trace, ReferenceData rates)
    {
        var state = new AccountState(fold);
        Account = Account.Of(state, default);
        explainer = new Explainer(state, Account, rates, trace, trace.Picture(fold));
    }

    /// <summary>The figures of the account; each tree ends in one of them.</summary>
    public Account Account { get; }

    /// <summary>The names of all figures that this account has, open items by the id of their charge and by their part.</summary>
    public ImmutableArray<string> Figures =>
    [
        .. Portfolio.Figures.Select(figure => figure.Path), .. Counts,
        .. Account.OpenItems.SelectMany(item => new[] { Explainer.OpenItems + item.Id, $"{Explainer.OpenItems}{item.Id}.{item.Part}" }).Distinct(),
    ];

    /// <summary>The account at the end of a day, ready to explain; null when the contract was not signed by then.</summary>
    /// <param name="history">What is known of the contract.</param>
    /// <param name="rates">Tax rates and law as known at the same moment.</param>
    /// <param name="on">The day.</param>
    public static Explanation? At(ContractHistory history, ReferenceData rates, LocalDate on)
    {
        FoldTrace? trace = null;
        return AccountFold.Lived(history, rates, on, () => trace = new FoldTrace()) is { } fold ? new Explanation(fold, trace!, rates) : null;
    }

    /// <summary>The tree of a figure; null where the account has none of that name.</summary>
    /// <param name="figure">A name of <see cref="Figures"/>.</param>
    /// <remarks>Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.</remarks>
    public ExplainNode? Of(string figure) => explainer.Of(figure);

    /// <summary>The refusal of a figure that the account does not have, with the names of those it has.</summary>
    public Refusal Unknown(string figure) => new(
        RefusalCode.FieldInvalid, $"This account has no figure '{figure}'. It has: {string.Join(", ", Figures)}.", "figure");
}
