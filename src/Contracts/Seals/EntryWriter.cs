using System.Globalization;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Seals;

/// <summary>Writes the members of an entry; the caller keeps their order. What an entry cannot hold is a mistake and throws.</summary>
internal sealed class EntryWriter
{
    /// <summary>Moments in entries: UTC with exactly six decimals.</summary>
    internal static readonly InstantPattern Moment = InstantPattern.CreateWithInvariantCulture("uuuu'-'MM'-'dd'T'HH':'mm':'ss'.'ffffff'Z'");

    private const int NanosecondsInMicrosecond = 1000;

    private readonly CanonicalWriter writer = new(640);

    public EntryWriter() => writer.Raw((byte)'{');

    public void Text(string name, string value) =>
        writer.Member(name, value.Length > 0 && !value.Contains('\0', StringComparison.Ordinal)
            ? value
            : throw new ArgumentException($"The member {name} of an entry is empty or has U+0000.", nameof(value)));

    public void OptionalText(string name, string? value)
    {
        if (value is null) { writer.Member(name, null); }
        else { Text(name, value); }
    }

    /// <summary>A 64-bit count, as a string of digits.</summary>
    public void Count(string name, long value)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(value, name);
        writer.Member(name, value.ToString(CultureInfo.InvariantCulture));
    }

    public void Hash(string name, Digest value)
    {
        writer.Name(name);
        writer.Hash(value);
    }

    /// <summary>A moment, which must be whole microseconds, as the database keeps it.</summary>
    public void At(string name, Instant value)
    {
        var utc = value.InUtc();
        if (utc.NanosecondOfSecond % NanosecondsInMicrosecond != 0)
        {
            throw new ArgumentException($"The member {name} of an entry is finer than a microsecond.", nameof(value));
        }

        writer.Member(name, Moment.Format(value));
    }

    public void Version(string name = "v") => writer.Member(name, LogEntry.Version);

    public byte[] Finish()
    {
        writer.Raw((byte)'}');
        return writer.Length <= LogEntry.Longest
            ? writer.ToBytes()
            : throw new InvalidOperationException($"An entry has more than {LogEntry.Longest} bytes.");
    }
}
