using Contracts.Disclosures;

namespace Contracts.Explain;

/// <summary>The figures by which two accounts of a contract are held against each other: every money figure, the counts of installments, and the words.</summary>
internal static class ComparedFigures
{
    /// <summary>Figures that add up, by their path in the account's JSON: dollars in cents, or a count.</summary>
    public static readonly (string Path, bool IsMoney, Func<Account, long> Of)[] Numbers =
    [
        .. Portfolio.Figures.Select(figure => (figure.Path, true, (Func<Account, long>)(account => figure.Of(account).Cents))),
        ("installments.total", false, account => account.Installments.Total),
        ("installments.due", false, account => account.Installments.Due),
        ("installments.paid", false, account => account.Installments.Paid),
        ("installments.remaining", false, account => account.Installments.Remaining),
    ];

    /// <summary>Words and days.</summary>
    public static readonly (string Path, Func<Account, string?> Of)[] Texts =
    [
        ("status", account => account.Status),
        ("instrument.kind", account => account.Kind),
        ("instrument.serial", account => account.Serial),
        ("earlyPurchase.basis", account => account.EarlyPurchase.Basis),
        ("nextDue.on", account => account.NextDue is { } next ? NodaTime.Text.LocalDatePattern.Iso.Format(next.On) : null),
    ];
}
