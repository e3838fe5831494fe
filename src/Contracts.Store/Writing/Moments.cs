using NodaTime;
using NodaTime.Text;

namespace Contracts.Store.Writing;

/// <summary>Moments as the database can hold them, and dates and moments as text.</summary>
internal static class Moments
{
    private const long TicksPerMicrosecond = 10;

    /// <summary>The database keeps microseconds; a finer part would come back as another moment.</summary>
    public static Instant ToMicroseconds(Instant moment)
    {
        var ticks = moment.ToUnixTimeTicks();
        var rest = ((ticks % TicksPerMicrosecond) + TicksPerMicrosecond) % TicksPerMicrosecond;
        return Instant.FromUnixTimeTicks(ticks - rest);
    }

    public static string Text(Instant moment) => InstantPattern.ExtendedIso.Format(moment);

    public static string Text(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
