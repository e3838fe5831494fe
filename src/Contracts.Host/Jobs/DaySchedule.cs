using System.Globalization;
using Contracts.Host.Terminal;
using NodaTime;
using Wolverine;

namespace Contracts.Host.Jobs;

/// <summary>When the jobs of the day run: a durable scheduled message, one for each day, by the clock of the shop.</summary>
public static class DaySchedule
{
    /// <summary>The name under which the schedule is kept.</summary>
    public const string Name = "jobs-of-the-day";

    /// <summary>Has the message sent each day; whichever host is up handles it, and it waits while none is.</summary>
    /// <param name="options">The bus.</param>
    /// <param name="time">The time of day in the shop's zone. One that the change to summer time leaves out comes with the next minute that there is.</param>
    public static void Add(WolverineOptions options, LocalTime time) => options.Schedules.ScheduleRecurring(
        Name, string.Create(CultureInfo.InvariantCulture, $"{time.Minute} {time.Hour} * * *"), _ => new RunDay(), TimeZoneInfo.FindSystemTimeZoneById(Session.Zone.Id));

    /// <summary>Whether today's time has passed, so that a host that starts sends the message itself; a day that was run is not run again.</summary>
    /// <param name="now">Now.</param>
    /// <param name="time">The time of day.</param>
    public static bool IsPast(Instant now, LocalTime time) => now.InZone(Session.Zone).TimeOfDay >= time;
}
