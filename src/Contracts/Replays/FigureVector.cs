using System.Collections.Immutable;
using System.Globalization;
using Contracts.Disclosures;

namespace Contracts.Replays;

/// <summary>
/// The figures of an account in one order, for comparing many of them: amounts in cents and counts first, texts after.
/// </summary>
public static class FigureVector
{
    /// <summary>The names of amounts (cents) and, at the end, of counts.</summary>
    public static ImmutableArray<string> Numbers { get; } =
        [.. Portfolio.Figures.Select(figure => figure.Path), "installments.total", "installments.due", "installments.paid", "installments.remaining"];

    /// <summary>The names of figures that are words or days; the open items are told by a digest of them all.</summary>
    public static ImmutableArray<string> Texts { get; } = ["status", "instrument.serial", "earlyPurchase.basis", "nextDue.on", "openItems"];

    /// <summary>How many figures there are.</summary>
    public static int Count => Numbers.Length + Texts.Length;

    /// <summary>The amounts and counts of an account; all zero where there is none.</summary>
    public static void Read(Account? account, Span<long> numbers)
    {
        numbers.Clear();
        if (account is null) { return; }
        var index = 0;
        foreach (var (_, of) in Portfolio.Figures) { numbers[index++] = of(account).Cents; }
        numbers[index++] = account.Installments.Total;
        numbers[index++] = account.Installments.Due;
        numbers[index++] = account.Installments.Paid;
        numbers[index] = account.Installments.Remaining;
    }

    /// <summary>The texts of an account; all empty where there is none.</summary>
    public static void Read(Account? account, Span<string> texts) => Read(account, texts, new RememberedDigest());

    /// <summary>The same for one account after another.</summary>
    internal static void Read(Account? account, Span<string> texts, RememberedDigest openItems)
    {
        texts.Fill("");
        if (account is null) { return; }
        texts[0] = account.Status;
        texts[1] = account.Serial;
        texts[2] = account.EarlyPurchase.Basis;
        texts[3] = account.NextDue is { } next ? Digits.Iso(next.On) : "";
        texts[4] = account.OpenItems.IsEmpty ? "" : DigestOf(account.OpenItems, openItems);
    }

    /// <summary>A number as it is read: dollars with cents, or a count.</summary>
    public static string Words(string figure, long number) => figure.StartsWith("installments.", StringComparison.Ordinal)
        ? number.ToString(CultureInfo.InvariantCulture)
        : new Money(number).ToString();

    private static string DigestOf(ImmutableArray<OpenItem> items, RememberedDigest digest)
    {
        var text = digest.Text.Clear();
        foreach (var item in items)
        {
            text.Words(item.Id).Sign(' ').Words(item.Part).Sign(' ').Day(item.DueOn).Sign(' ').Number(item.Charged.Cents).Sign(' ').Number(item.Open.Cents).Sign('\n');
        }

        return digest.Of();
    }
}
