namespace Contracts.Households;

/// <summary>A telephone number as it is compared: its digits alone, since people write it in many ways.</summary>
public static class TelephoneNumber
{
    private const int Shortest = 7;
    private const int Longest = 15;
    private const int NorthAmerican = 10;

    /// <summary>
    /// The digits of a text that is a telephone number, or null: 7 to 15 of them (ITU-T E.164 has at most 15), with spaces, points, hyphens, parentheses and a plus
    /// sign. The leading 1 of eleven digits is the country code of the North American plan and is left out.
    /// </summary>
    /// <param name="text">What was written or typed.</param>
    public static string? Of(string text)
    {
        var digits = new System.Text.StringBuilder();
        foreach (var letter in text.Trim())
        {
            if (char.IsAsciiDigit(letter)) { digits.Append(letter); }
            else if (letter is not (' ' or '.' or '-' or '(' or ')' or '+' or '\u00a0')) { return null; }
        }

        if (digits.Length is < Shortest or > Longest) { return null; }
        var number = digits.ToString();
        return number.Length == NorthAmerican + 1 && number[0] == '1' ? number[1..] : number;
    }
}
