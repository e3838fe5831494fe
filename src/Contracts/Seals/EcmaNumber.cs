// The one place of the rules with floating point: RFC 8785 says how a double is written, so a double must be read.
// No amount passes here; the restricted model, which everything sealed keeps to, has whole numbers only.
#pragma warning disable RS0030
using System.Globalization;
using System.Text;

namespace Contracts.Seals;

/// <summary>
/// How ECMAScript writes a number (RFC 8785, section 3.2.2.3): the shortest digits that read back as the same double,
/// without exponent from 1e-6 to below 1e21.
/// </summary>
internal static class EcmaNumber
{
    private const int PlainFrom = -6;
    private const int PlainTo = 21;

    /// <summary>The number of a JSON token as ECMAScript writes it, or null if no finite double is near it.</summary>
    public static string? Rewrite(ReadOnlySpan<byte> token) =>
        double.TryParse(token, NumberStyles.Float, CultureInfo.InvariantCulture, out var value) ? Write(value) : null;

    /// <summary>The double with these 64 bits (IEEE 754) as ECMAScript writes it, or null where it is not finite.</summary>
    public static string? OfBits(long bits) => Write(BitConverter.Int64BitsToDouble(bits));

    private static string? Write(double value)
    {
        if (!double.IsFinite(value)) { return null; }
        if (value == 0) { return "0"; }
        Span<char> digits = stackalloc char[32];
        var point = Digits(Math.Abs(value), digits, out var count);
        var text = new StringBuilder(32);
        if (value < 0) { text.Append('-'); }
        Lay(text, digits[..count], point);
        return text.ToString();
    }

    /// <summary>The significant digits, and where the point stands: value = 0.d1d2... * 10^point.</summary>
    private static int Digits(double value, Span<char> digits, out int count)
    {
        Span<char> shortest = stackalloc char[32];
        value.TryFormat(shortest, out var length, "R", CultureInfo.InvariantCulture);
        var (point, exponent, seenPoint) = (0, 0, false);
        count = 0;
        for (var at = 0; at < length; at++)
        {
            if (shortest[at] == 'E')
            {
                exponent = int.Parse(shortest[(at + 1)..length], NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture);
                break;
            }

            if (shortest[at] == '.')
            {
                seenPoint = true;
                continue;
            }

            // Zeros before the first digit move the point and are no digits.
            if (count == 0 && shortest[at] == '0')
            {
                if (seenPoint) { point--; }
                continue;
            }

            digits[count++] = shortest[at];
            if (!seenPoint) { point++; }
        }

        while (digits[count - 1] == '0') { count--; }
        return point + exponent;
    }

    private static void Lay(StringBuilder text, ReadOnlySpan<char> digits, int point)
    {
        if (point is > PlainFrom and <= PlainTo)
        {
            if (point <= 0) { text.Append("0.").Append('0', -point).Append(digits); }
            else if (digits.Length <= point) { text.Append(digits).Append('0', point - digits.Length); }
            else { text.Append(digits[..point]).Append('.').Append(digits[point..]); }
            return;
        }

        text.Append(digits[0]);
        if (digits.Length > 1) { text.Append('.').Append(digits[1..]); }
        text.Append('e').Append(point > 0 ? '+' : '-').Append(Math.Abs(point - 1).ToString(CultureInfo.InvariantCulture));
    }
}
