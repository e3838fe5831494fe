using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store.Seals;
using NodaTime.Text;

namespace Contracts.Host.Sealing;

/// <summary>A time stamp as JSON or in words.</summary>
internal static class StampPrinter
{
    public static void Print(long size, TimeStamp? stamp, StampFault? fault, OutputFormat format)
    {
        if (format == OutputFormat.Table)
        {
            Console.Out.WriteLine(stamp is null
                ? $"{size:N0} leaves: {fault!.Code}: {fault.Detail}"
                : $"{size:N0} leaves: existed by {InstantPattern.General.Format(stamp.At)}, says {stamp.Authority}"
                    + (stamp.IsRooted ? "" : " (not held against a root: --tsa-root)"));
            return;
        }

        Console.Out.WriteLine(AccountPrinter.Json(json =>
        {
            json.WriteStartObject();
            json.WriteNumber("size", size);
            json.WriteBoolean("ok", fault is null);
            if (stamp is not null)
            {
                json.WriteString("at", InstantPattern.ExtendedIso.Format(stamp.At));
                json.WriteString("authority", stamp.Authority);
                json.WriteString("policy", stamp.Policy);
                json.WriteBoolean("rooted", stamp.IsRooted);
            }
            else
            {
                json.WriteString("code", fault!.Code);
                json.WriteString("detail", fault.Detail);
            }

            json.WriteEndObject();
        }));
    }
}
