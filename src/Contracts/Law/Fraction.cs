using System.Globalization;
using System.Numerics;

namespace Contracts.Law;

/// <summary>
/// An exact number, as acts write their shares ("one half", "55 percent", "2.25 times") and as a limit comes out before
/// it is rounded. Amounts of money are counted in cents. Always reduced, with a positive denominator.
/// </summary>
public readonly struct Fraction : IEquatable<Fraction>, IComparable<Fraction>
{
    private readonly BigInteger below;

    public Fraction(BigInteger above, BigInteger below)
    {
        if (below.IsZero) { throw new ArgumentOutOfRangeException(nameof(below), "A fraction has no denominator of zero."); }
        var common = BigInteger.GreatestCommonDivisor(above, below) * below.Sign;
        Above = above / common;
        this.below = below / common;
    }

    public BigInteger Above { get; }

    /// <summary>The denominator; the fraction that was never set is zero over one.</summary>
    public BigInteger Below => below.IsZero ? BigInteger.One : below;

    public static Fraction Zero { get; } = new(0, 1);

    public static Fraction One { get; } = new(1, 1);

    public static Fraction Of(Money money) => new(money.Cents, 1);

    /// <summary>A rate as the exact number it is.</summary>
    public static Fraction Of(Rate rate) => new(rate.Units, Rate.Whole.Units);

    public static Fraction Of(long above, long below) => new(above, below);

    public static Fraction operator +(Fraction left, Fraction right) => new((left.Above * right.Below) + (right.Above * left.Below), left.Below * right.Below);

    public static Fraction operator -(Fraction left, Fraction right) => new((left.Above * right.Below) - (right.Above * left.Below), left.Below * right.Below);

    public static Fraction operator *(Fraction left, Fraction right) => new(left.Above * right.Above, left.Below * right.Below);

    public static bool operator <(Fraction left, Fraction right) => left.CompareTo(right) < 0;

    public static bool operator >(Fraction left, Fraction right) => left.CompareTo(right) > 0;

    public static bool operator <=(Fraction left, Fraction right) => left.CompareTo(right) <= 0;

    public static bool operator >=(Fraction left, Fraction right) => left.CompareTo(right) >= 0;

    public static bool operator ==(Fraction left, Fraction right) => left.Equals(right);

    public static bool operator !=(Fraction left, Fraction right) => !left.Equals(right);

    public static Fraction Max(Fraction left, Fraction right) => left >= right ? left : right;

    public static Fraction Min(Fraction left, Fraction right) => left <= right ? left : right;

    /// <summary>The whole cents below it: a limit that is rounded down is never exceeded.</summary>
    public Money RoundedDown() => new((long)Floor(Above, Below));

    /// <summary>The nearest cent, half away from zero.</summary>
    public Money Rounded()
    {
        var cents = Floor((BigInteger.Abs(Above) * 2) + Below, Below * 2);
        return new Money((long)(Above.Sign < 0 ? -cents : cents));
    }

    public int CompareTo(Fraction other) => (Above * other.Below).CompareTo(other.Above * Below);

    public bool Equals(Fraction other) => Above == other.Above && Below == other.Below;

    public override bool Equals(object? obj) => obj is Fraction other && Equals(other);

    public override int GetHashCode() => HashCode.Combine(Above, Below);

    /// <summary>A whole number, or two of them with a stroke: <c>179800/3</c>.</summary>
    public override string ToString() => Below.IsOne ? $"{Above}" : $"{Above}/{Below}";

    /// <summary>Reads a decimal (<c>2.25</c>) or two whole numbers with a stroke (<c>20/9</c>); nothing below zero.</summary>
    public static bool TryParse(string text, out Fraction fraction)
    {
        fraction = Zero;
        var stroke = text.IndexOf('/', StringComparison.Ordinal);
        if (stroke >= 0)
        {
            if (!Digits(text[..stroke], out var above) || !Digits(text[(stroke + 1)..], out var under) || under.IsZero) { return false; }
            fraction = new Fraction(above, under);
            return true;
        }

        var dot = text.IndexOf('.', StringComparison.Ordinal);
        var places = dot < 0 ? 0 : text.Length - dot - 1;
        if (dot == text.Length - 1 || dot == 0 || !Digits(text.Replace(".", "", StringComparison.Ordinal), out var digits)) { return false; }
        fraction = new Fraction(digits, BigInteger.Pow(10, places));
        return true;
    }

    private static bool Digits(string text, out BigInteger number) =>
        BigInteger.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out number);

    private static BigInteger Floor(BigInteger above, BigInteger below)
    {
        var whole = BigInteger.DivRem(above, below, out var rest);
        return rest.Sign < 0 ? whole - 1 : whole;
    }
}
