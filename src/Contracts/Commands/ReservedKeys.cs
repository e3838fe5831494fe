using Contracts.Agreements;

namespace Contracts.Commands;

/// <summary>
/// Keys that the program makes for what it does by itself: of a line of a bank's file, of a share of a family's payment, of a day's job, of a line of a book
/// that was taken over. Whoever could send one would have the line or the day counted as done, or a fact of today pass for one of the old book.
/// </summary>
public static class ReservedKeys
{
    private static readonly string[] Prefixes = ["bank:", "money-file:", "money-line:", "day:", "share:", TakenOver.Prefix];

    /// <summary>Why a command from outside cannot have its key, or null.</summary>
    /// <param name="key">The key.</param>
    public static Refusal? Fault(string key) => Prefixes.FirstOrDefault(prefix => key.StartsWith(prefix, StringComparison.Ordinal)) is { } prefix
        ? new Refusal(RefusalCode.FieldInvalid, $"Keys that begin with '{prefix}' are made by the program itself.", "key")
        : null;
}
