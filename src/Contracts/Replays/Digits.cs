using System.Buffers.Binary;
using System.Buffers.Text;
using System.Globalization;
using System.Numerics;
using System.Text;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Replays;

/// <summary>
/// Decimal digits of numbers and days. A step of a walk is some hundred numbers, nearly all of them below a million and of any length, and asking
/// each for its length digit by digit takes longer than looking four digits up.
/// </summary>
internal static class Digits
{
    /// <summary>Bytes that hold any number, and any day of the calendar.</summary>
    public const int Longest = 24;

    private const int Four = 10_000;

    /// <summary>The numbers below ten thousand in ASCII, the first digit in the lowest byte; bytes after the last digit are zero.</summary>
    private static readonly uint[] Written = [.. Enumerable.Range(0, Four).Select(Spell)];

    /// <summary>Writes a number with a minus where it is below zero; answers how many bytes it has. May write over the bytes after it.</summary>
    /// <param name="number">The number.</param>
    /// <param name="to">Room for <see cref="Longest"/> bytes.</param>
    public static int Write(long number, Span<byte> to)
    {
        switch (number)
        {
            case >= 0 and < Four: return WriteFour((int)number, to);
            case >= Four and < Four * Four: return WriteEight((int)number, to);
            case > -Four * Four and < 0:
                to[0] = (byte)'-';
                return 1 + (number > -Four ? WriteFour((int)-number, to[1..]) : WriteEight((int)-number, to[1..]));
            default:
                Utf8Formatter.TryFormat(number, to, out var written);
                return written;
        }
    }

    /// <summary>Writes a day as ISO 8601 has it; answers how many bytes it has. May write over the bytes after it.</summary>
    /// <param name="day">The day.</param>
    /// <param name="to">Room for <see cref="Longest"/> bytes.</param>
    public static int WriteIso(LocalDate day, Span<byte> to)
    {
        // Years of four digits are all that a contract has; what a damaged one may have is written as it always was.
        if (day.Year is < 1000 or >= Four) { return Encoding.UTF8.GetBytes(LocalDatePattern.Iso.Format(day), to); }
        // Month and day with a one before them have three digits, of which the one gives way to the hyphen.
        WriteFour(day.Year, to);
        WriteFour(100 + day.Month, to[4..]);
        WriteFour(100 + day.Day, to[7..]);
        (to[4], to[7]) = ((byte)'-', (byte)'-');
        return "uuuu-MM-dd".Length;
    }

    /// <summary>A day as ISO 8601 has it.</summary>
    public static string Iso(LocalDate day)
    {
        Span<byte> ascii = stackalloc byte[Longest];
        return Encoding.ASCII.GetString(ascii[..WriteIso(day, ascii)]);
    }

    private static int WriteFour(int number, Span<byte> to)
    {
        var digits = Written[number];
        BinaryPrimitives.WriteUInt32LittleEndian(to, digits);
        return LengthOf(digits);
    }

    private static int WriteEight(int number, Span<byte> to)
    {
        var (upper, lower) = (number / Four, number % Four);
        var length = WriteFour(upper, to);
        var digits = Written[lower];
        // Zeros before the lower four: the number has a digit before them.
        var missing = 8 * (sizeof(uint) - LengthOf(digits));
        var zeros = (uint)(0x30303030 & ((1UL << missing) - 1));
        BinaryPrimitives.WriteUInt32LittleEndian(to[length..], (digits << missing) | zeros);
        return length + sizeof(uint);
    }

    private static int LengthOf(uint digits) => sizeof(uint) - (BitOperations.LeadingZeroCount(digits) / 8);

    private static uint Spell(int number)
    {
        Span<byte> ascii = stackalloc byte[sizeof(uint)];
        ascii.Clear();
        Encoding.ASCII.GetBytes(number.ToString(CultureInfo.InvariantCulture), ascii);
        return BinaryPrimitives.ReadUInt32LittleEndian(ascii);
    }
}
