using System.Globalization;
using System.Text.RegularExpressions;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Agreements;

/// <summary>
/// The mark of what was taken over from a book that the shop kept before: which book, which line of it, and whether the book itself said so.
/// The mark is the key of the command, which every event keeps for ever and which nobody can send from outside (docs/decisions/0043).
/// </summary>
/// <param name="Book">The book's name, as the shop's mapping gives it.</param>
/// <param name="Digest">The beginning of the digest of its files.</param>
/// <param name="IsPayment">Whether the line stands in the file of payments, not of contracts.</param>
/// <param name="Line">The line of that file, from one.</param>
/// <param name="Step">What of the line it is where that is not the signing or the payment itself; else empty.</param>
public sealed partial record TakenOver(string Book, string Digest, bool IsPayment, long Line, string Step = "")
{
    /// <summary>What every such key begins with.</summary>
    public const string Prefix = "taken-over:";

    private const string DeemedStep = "deemed-";

    /// <summary>Whether the book named no such payment, and it is only deemed made on the day it was due.</summary>
    public bool IsDeemed => Step.StartsWith(DeemedStep, StringComparison.Ordinal);

    /// <summary>The key of a command that this is the mark of.</summary>
    public string Key => string.Create(CultureInfo.InvariantCulture, $"{Prefix}{Book}:{Digest}:{(IsPayment ? 'p' : 'c')}{Line}{(Step.Length > 0 ? ":" : "")}{Step}");

    /// <summary>The book, the line and how it is known, as a sentence may go on with it.</summary>
    public string Words => string.Create(
        CultureInfo.InvariantCulture,
        $"taken over from book '{Book}', line {Line} of its {(IsPayment ? "payments" : "contracts")}{(IsDeemed ? ", deemed paid on the day it was due" : "")}");

    /// <summary>The mark in a key, or null where the key is none of them.</summary>
    /// <param name="key">The key of a command or an event.</param>
    public static TakenOver? Of(string key) => key.StartsWith(Prefix, StringComparison.Ordinal) && Shape().Match(key) is { Success: true } match
        ? new TakenOver(
            match.Groups[1].Value, match.Groups[2].Value, match.Groups[3].Value == "p", long.Parse(match.Groups[4].Value, CultureInfo.InvariantCulture), match.Groups[5].Value)
        : null;

    /// <summary>The step of a payment that is deemed made.</summary>
    /// <param name="dueOn">The day it was due.</param>
    public static string DeemedOn(LocalDate dueOn) => DeemedStep + LocalDatePattern.Iso.Format(dueOn);

    [GeneratedRegex("^taken-over:([A-Za-z0-9-]{1,40}):([0-9a-f]{16}):([cp])([0-9]{1,9})(?::([a-z0-9-]{1,40}))?$")]
    private static partial Regex Shape();
}
