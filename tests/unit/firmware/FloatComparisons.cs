// Comparisons that the small runtime answers otherwise than .NET when an operand is not a number: there `>` and `>=`
// are true. In IL these are the instructions below; `<`, `<=` and their negations compile to others and agree.

using Mono.Cecil;
using Mono.Cecil.Cil;

namespace Hourhinge.Tests.Firmware;

/// <summary>Follows the evaluation stack through a method, only as far as to know what is floating point.</summary>
internal static class FloatComparisons
{
    private static readonly HashSet<Code> _unsafe =
        [Code.Cgt, Code.Bgt, Code.Bgt_S, Code.Bge, Code.Bge_S, Code.Clt_Un, Code.Ble_Un, Code.Ble_Un_S, Code.Blt_Un,
            Code.Blt_Un_S];

    /// <summary>The unsafe comparisons of floating-point operands.</summary>
    public static IEnumerable<Instruction> In(MethodDefinition method)
    {
        Dictionary<Instruction, List<bool>> atTarget = [];
        List<bool> stack = [];
        foreach (Instruction i in method.Body.Instructions)
        {
            stack = atTarget.GetValueOrDefault(i) ?? stack;
            int pops = Pops(i, method, stack.Count);
            bool[] popped = [.. stack.TakeLast(pops)];
            stack = [.. stack.SkipLast(pops)];
            if (_unsafe.Contains(i.OpCode.Code) && popped.Contains(true))
            {
                yield return i;
            }

            stack.AddRange(Enumerable.Repeat(IsFloat(i, method, popped), Pushes(i)));
            Instruction[] targets = i.Operand switch
            {
                Instruction one => [one],
                Instruction[] several => several,
                _ => [],
            };
            foreach (Instruction target in targets)
            {
                atTarget.TryAdd(target, stack);
            }

            if (i.OpCode.FlowControl is FlowControl.Branch or FlowControl.Return or FlowControl.Throw)
            {
                stack = [];
            }
        }
    }

    private static bool IsFloat(Instruction i, MethodDefinition method, bool[] popped) => i.OpCode.Code switch
    {
        Code.Ldc_R4 or Code.Ldc_R8 or Code.Conv_R4 or Code.Conv_R8 or Code.Conv_R_Un or Code.Ldelem_R4 or Code.Ldelem_R8
            or Code.Ldind_R4 or Code.Ldind_R8 => true,
        Code.Add or Code.Sub or Code.Mul or Code.Div or Code.Rem or Code.Neg or Code.Dup => popped.Contains(true),
        Code.Ldloc_0 or Code.Ldloc_1 or Code.Ldloc_2 or Code.Ldloc_3 =>
            IsFloat(method.Body.Variables[i.OpCode.Code - Code.Ldloc_0].VariableType),
        Code.Ldloc or Code.Ldloc_S => IsFloat(((VariableDefinition)i.Operand).VariableType),
        Code.Ldarg_0 or Code.Ldarg_1 or Code.Ldarg_2 or Code.Ldarg_3 => Argument(method, i.OpCode.Code - Code.Ldarg_0),
        Code.Ldarg or Code.Ldarg_S => IsFloat(((ParameterDefinition)i.Operand).ParameterType),
        Code.Ldfld or Code.Ldsfld => IsFloat(((FieldReference)i.Operand).FieldType),
        Code.Call or Code.Callvirt => IsFloat(((MethodReference)i.Operand).ReturnType),
        Code.Ldobj or Code.Ldelem_Any or Code.Unbox_Any => IsFloat((TypeReference)i.Operand),
        _ => false,
    };

    private static bool Argument(MethodDefinition method, int index)
    {
        int at = method.HasThis ? index - 1 : index;
        return at >= 0 && IsFloat(method.Parameters[at].ParameterType);
    }

    private static bool IsFloat(TypeReference type) => type.MetadataType is MetadataType.Single or MetadataType.Double;

    private static int Pushes(Instruction i) => i.OpCode.StackBehaviourPush switch
    {
        StackBehaviour.Push0 => 0,
        StackBehaviour.Push1_push1 => 2,
        StackBehaviour.Varpush => ((MethodReference)i.Operand).ReturnType.MetadataType == MetadataType.Void ? 0 : 1,
        _ => 1,
    };

    private static int Pops(Instruction i, MethodDefinition method, int all)
    {
        switch (i.OpCode.StackBehaviourPop)
        {
            case StackBehaviour.Pop0:
                return 0;
            case StackBehaviour.PopAll:
                return all;
            case StackBehaviour.Varpop when i.OpCode.Code == Code.Ret:
                return method.ReturnType.MetadataType == MetadataType.Void ? 0 : 1;
            case StackBehaviour.Varpop:
                MethodReference called = (MethodReference)i.Operand;
                return called.Parameters.Count + (called.HasThis && i.OpCode.Code != Code.Newobj ? 1 : 0);
            default:
                return i.OpCode.StackBehaviourPop.ToString().Split('_').Length;
        }
    }
}
