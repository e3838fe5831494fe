namespace Contracts.Bank;

/// <summary>The words of a bank's line that may name something of the shop's.</summary>
internal static class Words
{
    private const int Longest = 40;

    /// <summary>Words of the reference that travelled along and of the text: letters, digits and hyphens, as ids are made of.</summary>
    public static IEnumerable<string> Of(BankEntry entry) => Cut(entry.EndToEnd).Concat(Cut(entry.Text)).Distinct(StringComparer.OrdinalIgnoreCase);

    /// <summary>What may be the reference of a payment: whole fields first, then the words in them.</summary>
    public static IEnumerable<string> References(BankEntry entry)
    {
        var whole = new[] { entry.EndToEnd, entry.Reference, entry.Text }.OfType<string>().Select(text => text.Trim()).Where(text => text.Length is > 0 and <= 200);
        return whole.Concat(Of(entry).Where(IsTelling)).Distinct(StringComparer.OrdinalIgnoreCase);
    }

    /// <summary>Whether a word is the whole of a field that is for references.</summary>
    public static bool IsReferenceField(BankEntry entry, string word) =>
        string.Equals(entry.EndToEnd?.Trim(), word, StringComparison.OrdinalIgnoreCase) || string.Equals(entry.Reference?.Trim(), word, StringComparison.OrdinalIgnoreCase);

    /// <summary>Whether a word is unlike a number or a word that stands in many lines: it has a digit, and a letter or a hyphen.</summary>
    public static bool IsTelling(string word) =>
        word.Length >= 3 && word.Any(char.IsAsciiDigit) && word.Any(letter => char.IsAsciiLetter(letter) || letter == '-');

    /// <summary>
    /// The reference that a payment made of the line carries for good: the one that travelled along where it is a reference and not words, which may
    /// name people; else the bank's own.
    /// </summary>
    public static string? Kept(BankEntry entry) =>
        entry.EndToEnd is { } given && IsTelling(given) && !given.Any(char.IsWhiteSpace) && given.Length <= Longest ? given : entry.Reference;

    private static IEnumerable<string> Cut(string? text)
    {
        if (text is null) { yield break; }
        var start = 0;
        for (var at = 0; at <= text.Length; at++)
        {
            if (at < text.Length && (char.IsAsciiLetterOrDigit(text[at]) || text[at] == '-')) { continue; }
            var word = text[start..at].Trim('-');
            if (word.Length is > 0 and <= Longest) { yield return word; }
            start = at + 1;
        }
    }
}
