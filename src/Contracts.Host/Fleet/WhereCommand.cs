using System.CommandLine;
using Contracts.Agreements;
using Contracts.Host.Terminal;

namespace Contracts.Host.Fleet;

/// <summary>`contracts unit`: where one unit is, who had it, and what it earned.</summary>
public static class WhereCommand
{
    public static System.CommandLine.Command Build()
    {
        var serial = new Argument<string>("serial") { Description = "The serial number, such as HC-0417." };
        var on = CommonOptions.On();
        var known = CommonOptions.Known();
        var command = new System.CommandLine.Command("unit", "One unit: where it is, who had it, what it earned and cost over its life.") { serial, on, known };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var (day, moment) = await session.ViewAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false);
                var id = parse.GetRequiredValue(serial);
                if (await session.Store.Units.FindAsync(id, day, moment, stop).ConfigureAwait(false) is not { } life) { return session.Refuse(Unknown(id)); }
                UnitPrinter.Print(life, moment, session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>Nothing names the serial.</summary>
    internal static Refusal Unknown(string serial) => new(
        RefusalCode.UnitUnknown, $"No unit '{serial}' was acquired, and no contract names it, by that day, as known at that moment.", "serial");
}
